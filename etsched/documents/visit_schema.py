"""The JSON Schema of the visit file, for editors and for programs that write visit files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.documents.site_schema import schema_of
from etsched.documents.visit_model import VisitIn

if TYPE_CHECKING:
    from etsched.documents.reader import Json


def visit_schema() -> Json:
    """Give the JSON Schema of the visit file, generated from the models that read it.

    Returns
    -------
    dict
        A schema of draft 2020-12, ready for `json.dumps`.
    """
    return schema_of(VisitIn)
