"""Write the tables of this program's step with invented rows as SQL: python -m tests.stores.make_dump.

Done once for every step that is published, and never again for an old one: what was written by the program of a step
is what every later program must be able to read.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from contextlib import closing
from pathlib import Path

from etsched.stores import migrate
from etsched.stores.database import Database
from tests.stores import invented_rows

DUMPS = Path(__file__).parent / "dumps"


def main() -> int:
    """Write the dump of the newest step unless it is there."""
    target = DUMPS / f"{migrate.head()}.sqlite.sql"
    if target.exists():
        print(f"{target} is there and stays as it is.", file=sys.stderr)  # noqa: T201
        return 1
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "dump.db"
        with Database(f"sqlite:///{file}") as database:
            migrate.upgrade(database)
            with database.writing() as writing:
                invented_rows.put(writing)
            invented_rows.put_jobs(database)
        with closing(sqlite3.connect(file)) as plain:
            target.write_text("\n".join(plain.iterdump()) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
