"""The use cases of the service run on every database there is."""

from tests.stores.conftest import database, empty_url, kind, stride, with_tables

__all__ = ["database", "empty_url", "kind", "stride", "with_tables"]
