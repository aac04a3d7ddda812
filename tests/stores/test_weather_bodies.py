"""Feed answers are kept whole, once each, and are read again as they came."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from etsched.errors import OutputRefused
from etsched.http_client import RawBody
from etsched.stores.weather_bodies import WeatherBodies

NOON = datetime(2026, 7, 13, 12, tzinfo=UTC)
RAW = RawBody("http://feed/x", NOON, 200, "application/json", "", '"e1"', b'{"a": 1}\n\x00\xff')


def _later(hours, body=RAW.body):
    return replace(RAW, fetched=NOON + timedelta(hours=hours), body=body)


def test_what_is_kept_comes_back_byte_for_byte(tmp_path):
    bodies = WeatherBodies(tmp_path)
    bodies.keep("nasa power", "37.4_-119.9", RAW, "aa" * 32)
    assert bodies.latest("nasa power", "37.4_-119.9").raw == RAW
    assert bodies.latest("nasa power", "elsewhere") is None


def test_the_same_weather_again_is_confirmed_and_no_revision(tmp_path):
    bodies = WeatherBodies(tmp_path)
    bodies.keep("f", "p", RAW, "aa" * 32)
    kept = bodies.keep("f", "p", _later(6, b"other bytes, same weather"), "aa" * 32)
    assert kept.revision == 1
    latest = bodies.latest("f", "p")
    assert latest.raw.body == RAW.body
    assert latest.raw.fetched == NOON + timedelta(hours=6)
    assert latest.first_fetched == NOON


def test_other_weather_is_the_next_revision_and_a_return_to_the_old_one_too(tmp_path):
    bodies = WeatherBodies(tmp_path)
    for hours, digest in enumerate(("aa" * 32, "bb" * 32, "aa" * 32)):
        bodies.keep("f", "p", _later(hours, digest.encode()), digest)
    assert [(kept.revision, kept.raw.body[:2]) for kept in bodies.history("f", "p")] == [
        (1, b"aa"),
        (2, b"bb"),
        (3, b"aa"),
    ]


def test_a_file_that_is_torn_is_passed_over(tmp_path):
    bodies = WeatherBodies(tmp_path)
    bodies.keep("f", "p", RAW, "aa" * 32)
    bodies.keep("f", "p", _later(1), "bb" * 32)
    newest = sorted((tmp_path / "f" / "p").glob("*.json.gz"))[-1]
    newest.write_bytes(newest.read_bytes()[:20])
    assert bodies.latest("f", "p").raw.body == RAW.body
    (tmp_path / "f" / "p" / "last.json").write_text("{", encoding="utf-8")
    assert bodies.latest("f", "p").raw.fetched == NOON


def test_names_cannot_leave_the_folder(tmp_path):
    bodies = WeatherBodies(tmp_path / "kept")
    bodies.keep("../../feed", "..", RAW, "aa" * 32)
    assert [path.name for path in tmp_path.iterdir()] == ["kept"]
    assert bodies.latest("../../feed", "..").raw == RAW


def test_a_folder_that_cannot_be_written_is_said(tmp_path):
    (tmp_path / "f").write_text("in the way", encoding="utf-8")
    with pytest.raises(OutputRefused, match="weather cannot be kept here"):
        WeatherBodies(tmp_path).keep("f", "p", RAW, "aa" * 32)


def test_what_a_newer_answer_replaced_long_ago_is_forgotten_and_the_last_never(tmp_path):
    bodies = WeatherBodies(tmp_path)
    for hours, digest in ((0, "aa"), (1, "bb"), (50, "cc")):
        bodies.keep("f", "p", _later(hours, digest.encode()), digest * 32)
    bodies.keep("f", "alone", RAW, "aa" * 32)
    # The first was replaced at 13:00, the second not before the 15th.
    assert bodies.forget(NOON + timedelta(hours=2)) == 1
    assert [kept.raw.body for kept in bodies.history("f", "p")] == [b"bb", b"cc"]
    assert bodies.forget(NOON + timedelta(days=9000)) == 1
    assert [kept.raw.body for kept in bodies.history("f", "p")] == [b"cc"]
    assert bodies.latest("f", "alone").raw == RAW
