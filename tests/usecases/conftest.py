"""The use cases of the service run on every database there is."""

from tests.stores.conftest import database, empty_url, kind, with_tables

__all__ = ["database", "empty_url", "kind", "with_tables"]
