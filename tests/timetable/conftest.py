"""The timetable runs on every database there is."""

from tests.stores.conftest import database, kind, with_tables

__all__ = ["database", "kind", "with_tables"]
