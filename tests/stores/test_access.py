"""Keys and people: what opens, what does not, and that no secret is kept or told."""

import dataclasses
import hashlib
import logging
from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy as sa

from etsched.errors import AccessRefused, InputRefused
from etsched.model.access import GivenAnswer, Role, Scope
from etsched.model.service import KeptSite
from etsched.stores import answers, keys, sites, trail, users
from etsched.stores.schema import metadata
from etsched.usecases import access, passwords

NOW = datetime(2026, 7, 14, 3, 0, tzinfo=UTC)
SECOND = timedelta(seconds=1)
READS = frozenset({Scope.READ, Scope.REPORT})
PASSWORD = "grass grows at night"  # noqa: S105 - an invented one


@pytest.fixture
def kept(database):
    with database.writing() as writing:
        for site in ("quillmere", "otherby"):
            sites.put_site(writing, KeptSite(site, site.title(), "America/Denver", 1, "x"), NOW, "test")
    return database


def everything_in(database):
    """Every value of every row, as one text."""
    with database.reading() as reading:
        return str([tuple(row) for table in metadata.sorted_tables for row in reading.execute(sa.select(table))])


def did(database):
    with database.reading() as reading:
        return [entry.did for entry in trail.entries(reading)]


def test_a_key_opens_what_it_was_made_for_and_nothing_else(kept):
    key, secret = access.make_key(kept, NOW, "west clock", READS, frozenset({"quillmere"}), None)
    holder = access.who(kept, NOW, secret)
    assert (holder.actor, holder.scopes, holder.sites) == (f"key {key.key_id}", READS, {"quillmere"})
    everywhere, secret = access.make_key(kept, NOW, "office", frozenset({Scope.MANAGE}), None, None)
    assert access.who(kept, NOW, secret).sites is None
    with kept.reading() as reading:
        assert keys.list_keys(reading) == sorted([key, everywhere], key=lambda each: each.key_id)


def test_secrets_are_long_differ_and_are_kept_as_their_digest_alone(kept):
    made = [access.make_key(kept, NOW, "k", READS, None, None) for _ in range(20)]
    assert len({secret for _, secret in made}) == 20
    for key, secret in made:
        form, key_id, random = secret.split("_", 2)
        assert (form, key_id) == ("ets", key.key_id)
        assert len(random) == 43  # 256 bits at 6 a letter: 42.7
        assert random not in everything_in(kept)
    digest = hashlib.sha256(made[0][1].encode()).hexdigest()
    assert digest in everything_in(kept)


def test_whoever_is_refused_is_not_told_why(kept):
    _, holds = access.make_key(kept, NOW, "a", READS, None, None)
    ends, ended = access.make_key(kept, NOW, "b", READS, None, NOW + SECOND)
    gone, revoked = access.make_key(kept, NOW, "c", READS, None, None)
    access.revoke_key(kept, NOW, gone.key_id)
    assert access.who(kept, NOW, ended).actor == f"key {ends.key_id}"
    changed = holds[:-1] + ("A" if holds[-1] != "A" else "B")
    unknown = f"ets_{'0' * 12}_{'x' * 43}"
    tries = (ended, revoked, changed, unknown, "ets_", "ets__", "etp_", "", "é", "\0", "ets_\0_", "x" * 10_000)
    said = set()
    for secret in tries:
        with pytest.raises(AccessRefused) as refusal:
            access.who(kept, NOW + SECOND, secret)
        said.add(str(refusal.value))
    assert said == {"this key is not valid, or not any more; ask whoever manages the properties for another"}
    assert access.who(kept, NOW + SECOND, holds)


@pytest.mark.parametrize(
    ("name", "scopes", "of_sites", "expires", "said"),
    [
        ("", READS, None, None, "name: the name is empty"),
        ("x" * 81, READS, None, None, "name: the name is empty, too long"),
        ("two\nlines", READS, None, None, "not printable"),
        ("k", frozenset(), None, None, "would open nothing; name one of read, report applied"),
        ("k", READS, frozenset({"nowhere"}), None, 'there is no property "nowhere"'),
        ("k", READS, None, NOW, "expired already"),
    ],
)
def test_a_key_that_makes_no_sense_is_not_made(kept, name, scopes, of_sites, expires, said):
    with pytest.raises(InputRefused, match=said):
        access.make_key(kept, NOW, name, scopes, of_sites, expires)
    with kept.reading() as reading:
        assert keys.list_keys(reading) == []
    assert did(kept) == []


def test_a_key_is_revoked_once_and_the_refusal_does_not_repeat_what_was_typed(kept):
    key, secret = access.make_key(kept, NOW, "k", READS, None, None)
    access.revoke_key(kept, NOW, key.key_id)
    for typed in (key.key_id, secret):
        with pytest.raises(InputRefused) as refusal:
            access.revoke_key(kept, NOW, typed)
        assert typed not in str(refusal.value)
    assert did(kept) == ["key made", "key revoked"]


def test_people_by_role_and_property(kept):
    access.make_user(kept, NOW, "ann", PASSWORD, Role.TECHNICIAN, frozenset({"quillmere"}))
    access.make_user(kept, NOW, "bo", PASSWORD, Role.ADMIN, frozenset({"quillmere"}))
    ann = access.who(kept, NOW, access.open_session(kept, NOW, "ann", PASSWORD))
    assert (ann.actor, ann.sites) == ("user ann", {"quillmere"})
    assert ann.scopes == {"read", "report applied", "record visits"}
    assert access.who(kept, NOW, access.open_session(kept, NOW, "bo", PASSWORD)).sites is None
    with kept.reading() as reading:
        assert [user.user_name for user in users.list_users(reading)] == ["ann", "bo"]


def test_a_session_ends_with_its_time_by_wish_and_with_the_account(kept):
    access.make_user(kept, NOW, "ann", PASSWORD, Role.MANAGER, frozenset({"quillmere"}))
    first, second, third = (access.open_session(kept, NOW, "ann", PASSWORD) for _ in range(3))
    for token in (first, second, third):
        assert token.removeprefix("etp_") not in everything_in(kept)
    access.end_session(kept, NOW, second)
    access.end_session(kept, NOW, "etp_none")
    assert access.who(kept, NOW + access.SESSION - SECOND, first)
    for token, when in ((first, NOW + access.SESSION), (second, NOW)):
        with pytest.raises(AccessRefused):
            access.who(kept, when, token)
    access.close_user(kept, NOW, "ann")
    with pytest.raises(AccessRefused):
        access.who(kept, NOW, third)
    with pytest.raises(InputRefused, match="no open account"):
        access.close_user(kept, NOW, "ann")
    assert did(kept) == ["user made", *["session opened"] * 3, "session ended", "user closed"]


def test_a_wrong_password_an_unknown_name_and_a_closed_account_are_told_alike(kept):
    for name in ("ann", "bo"):
        access.make_user(kept, NOW, name, PASSWORD, Role.MANAGER, None)
    access.close_user(kept, NOW, "bo")
    said = set()
    wrong = (("ann", PASSWORD + "!"), ("nobody", PASSWORD), ("bo", PASSWORD), ("ann", "\udc80"), ("\0", ""))
    for name, password in wrong:
        with pytest.raises(AccessRefused) as refusal:
            access.check_password(kept, name, password)
        said.add(str(refusal.value))
    assert len(said) == 1
    assert access.check_password(kept, "ann", PASSWORD).user_name == "ann"


@pytest.mark.parametrize("name", ["", "Ann", "ann miller", "ann\n", "-ann", "a" * 65])
def test_a_name_that_is_none_is_refused(kept, name):
    with pytest.raises(InputRefused, match="small letters"):
        access.make_user(kept, NOW, name, PASSWORD, Role.MANAGER, None)


def test_a_name_is_given_once_and_only_for_properties_that_are_there(kept):
    access.make_user(kept, NOW, "ann", PASSWORD, Role.MANAGER, None)
    access.close_user(kept, NOW, "ann")
    with pytest.raises(InputRefused, match="has been given before"):
        access.make_user(kept, NOW, "ann", PASSWORD, Role.MANAGER, None)
    with pytest.raises(InputRefused, match='no property "nowhere"'):
        access.make_user(kept, NOW, "bo", PASSWORD, Role.MANAGER, frozenset({"nowhere"}))


def test_the_password_is_bounded_below_and_only_far_above():
    for length in (11, 1025):
        with pytest.raises(InputRefused, match=f"has {length} characters"):
            passwords.hash_password("a" * length)
    for length in (12, 1024):
        assert passwords.matches("a" * length, passwords.hash_password("a" * length))


def test_a_hash_carries_its_own_parameters_and_a_salt():
    one, other = passwords.hash_password(PASSWORD), passwords.hash_password(PASSWORD)
    assert one != other
    assert one.startswith("scrypt$32768$8$3$")
    # RFC 7914, section 12, third vector, which has parameters of its own (N 16384, r 8, p 1) and 64 bytes.
    vector = (
        "7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2"
        "d5432955613f0fcf62d49705242a9af9e61e85dc0d651e40dfcf017b45575887"
    )
    made = hashlib.scrypt(b"pleaseletmein", salt=b"SodiumChloride", n=16384, r=8, p=1, dklen=64)
    assert made.hex() == vector  # the machine's scrypt is the RFC's
    # The first block of PBKDF2 does not depend on the length, so 32 bytes are the vector's first half.
    salt, digest = "U29kaXVtQ2hsb3JpZGU=", "cCO9yzr9c0hGHAbNgf046/2o+7qQT44+qbVD9lRdofI="
    assert passwords.matches("pleaseletmein", f"scrypt$16384$8$1${salt}${digest}")


def test_letters_with_marks_are_the_same_however_they_are_composed():
    assert passwords.matches("cafe\u0301 cafe\u0301 gras", passwords.hash_password("caf\u00e9 caf\u00e9 gras"))


def test_no_secret_is_logged_shown_or_written_down(kept, caplog):
    caplog.set_level(logging.DEBUG)
    key, secret = access.make_key(kept, NOW, "k", READS, None, None)
    access.make_user(kept, NOW, "ann", PASSWORD, Role.MANAGER, None)
    token = access.open_session(kept, NOW, "ann", PASSWORD)
    holders = [access.who(kept, NOW, each) for each in (secret, token)]
    told = [caplog.text, repr((key, holders)), everything_in(kept)]
    for wrong in (secret + "x", token + "x"):
        with pytest.raises(AccessRefused) as refusal:
            access.who(kept, NOW, wrong)
        told.append(repr(refusal.value))
    for hidden in (secret.split("_", 2)[2], token.removeprefix("etp_"), PASSWORD):
        assert not [text for text in told if hidden in text]


def test_an_answer_is_kept_once_for_each_actor_and_key(kept):
    answer = GivenAnswer("key a", "one", "0" * 64, 201, '{"a": 1}', NOW)
    with kept.writing() as writing:
        answers.put_answer(writing, answer)
        answers.put_answer(writing, dataclasses.replace(answer, actor="key b", status=204))
    with kept.reading() as reading:
        assert answers.find_answer(reading, "key a", "one") == answer
        assert answers.find_answer(reading, "key b", "one").status == 204
        assert answers.find_answer(reading, "key a", "two") is None
    with pytest.raises(sa.exc.IntegrityError), kept.writing() as writing:
        answers.put_answer(writing, answer)


def test_a_statement_that_fails_does_not_repeat_its_values(kept):
    key, _ = access.make_key(kept, NOW, "k", READS, None, None)
    with pytest.raises(sa.exc.IntegrityError) as failure, kept.writing() as writing:
        keys.put_key(writing, key, "the digest of a secret")
    assert "the digest of a secret" not in str(failure.value)
