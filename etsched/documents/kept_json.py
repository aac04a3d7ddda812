"""A JSON document that this program wrote once and reads again."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, TypeVar

from pydantic import BaseModel, ValidationError

from etsched.documents.refusals import clean, shown
from etsched.errors import AppliedRefused, Problem
from etsched.planning.runs_seen import same_name

if TYPE_CHECKING:
    from pathlib import Path

    from etsched.model.site import Site

Kept = TypeVar("Kept", bound=BaseModel)


def read_kept(path: Path, kept: type[Kept], command: str) -> Kept:
    """Read a document of the schema `etsched.COMMAND/1`. Raises AppliedRefused."""
    schema, as_written = f"etsched.{command}/1", f"give the document as {command} --json wrote it"
    try:
        document = json.loads(path.read_bytes())
    except OSError as error:
        raise refused(path, "", f"the file cannot be read ({error.strerror})", "name a file that exists") from None
    except (ValueError, RecursionError):
        raise refused(path, "", "this is not JSON", as_written) from None
    if not isinstance(document, dict) or document.get("schema") != schema:
        raise refused(path, "schema", f'this is no "{schema}" document', f"give one that {command} --json wrote")
    try:
        return kept.model_validate(document)
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(part) for part in first["loc"])
        wrong = "it is missing" if first["type"] == "missing" else "it does not hold what this document keeps there"
        raise refused(path, field, wrong, as_written) from None


def check_name(path: Path, field: str, name: str, site: Site) -> None:
    """Raise AppliedRefused where a document is of another site."""
    if not same_name(name, site.name):
        wrong = f'it is of {shown(name)}, and the site file is of "{clean(site.name)}"'
        raise refused(path, field, wrong, "give the document of this site, or begin anew without it")


def refused(path: Path, field: str, wrong: str, remedy: str) -> AppliedRefused:
    """Say what is wrong with a document as a whole or in one of its fields."""
    return AppliedRefused([Problem(str(path), None, field, wrong, remedy)])
