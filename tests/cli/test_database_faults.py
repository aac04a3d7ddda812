"""Commands on a database that is held by another program, may only be read, or lacks its tables: a sentence and 8."""

import pytest

from etsched.usecases.properties import put_site
from tests.stores.conftest import database, kind, with_tables  # noqa: F401 - fixtures: SQLite and PostgreSQL
from tests.stores.faulty import address, held, impatient, read_only, rows
from tests.usecases.made import service_on, site_text

from .called import etsched

CANNOT_BE_USED = 8


@pytest.fixture
def kept(database, tmp_path):  # noqa: F811 - pytest hands fixtures over by their names
    """A database that holds a property, and the site file beside it."""
    put_site(service_on(database), "quillmere", site_text(), "test")
    (tmp_path / "site.toml").write_text(site_text() + "\n# changed\n", encoding="utf-8")
    return database


WRITES = {
    "site put": ("site", "put", "quillmere", "site.toml"),
    "site put-away": ("site", "put-away", "quillmere"),
    "key create": ("key", "create", "--name", "hut", "--scope", "read", "--site", "quillmere"),
}


def called(words, url, folder):
    return etsched(*words, cwd=folder, ETSCHED_DATABASE=url, ETSCHED_BACKUPS_KEPT_IN=str(folder))


def check_refused(done, sentence):
    assert (done.returncode, done.stdout) == (CANNOT_BE_USED, "")
    assert sentence in done.stderr
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize("write", WRITES)
def test_a_write_while_another_program_holds_the_database(kept, tmp_path, write):
    before = rows(kept)
    with held(kept):
        done = called(WRITES[write], impatient(kept), tmp_path)
        # Whoever only reads does not wait.
        assert called(("site", "list"), impatient(kept), tmp_path).returncode == 0
    check_refused(done, ": another program is writing to it; try again, or end the other program")
    assert rows(kept) == before
    assert called(WRITES[write], impatient(kept), tmp_path).returncode == 0


@pytest.mark.parametrize("write", WRITES)
def test_a_write_where_it_may_only_be_read(kept, tmp_path, write):
    before = rows(kept)
    check_refused(called(WRITES[write], read_only(kept), tmp_path), ": it may not be written; give this user the right")
    assert rows(kept) == before


@pytest.mark.parametrize("words", [("site", "list"), WRITES["site put"]])
def test_tables_that_are_missing(kept, tmp_path, words):
    with kept.writing() as writing:
        writing.exec_driver_sql("ALTER TABLE sites RENAME TO away")
    check_refused(called(words, address(kept), tmp_path), ": its tables are missing; run etsched migrate (")
