"""The JSON Schema of the site file, for editors and for programs that write site files."""

from __future__ import annotations

from typing import Any

from etsched.documents.reader import Json
from etsched.documents.site_model import SiteIn, Strict

_NULL = {"type": "null"}


def site_schema() -> Json:
    """Give the JSON Schema of the site file, generated from the models that read it.

    Returns
    -------
    dict
        A schema of draft 2020-12, ready for `json.dumps`.
    """
    return schema_of(SiteIn)


def schema_of(model: type[Strict]) -> Json:
    """Give the schema of a file, generated from the model that reads it."""
    schema = model.model_json_schema()
    definitions = schema.pop("$defs")
    names = {old: each["title"].lower().replace(" ", "_") for old, each in definitions.items()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_tidy(schema, names),
        "$defs": {names[old]: _tidy(each, names) for old, each in definitions.items()},
    }


def _tidy(node: Any, names: dict[str, str]) -> Any:  # noqa: ANN401 - any JSON
    """Give readable names to what is shared, and leave out null, which TOML cannot write."""
    if isinstance(node, list):
        return [_tidy(each, names) for each in node]
    if not isinstance(node, dict):
        return node
    tidy = {key: _tidy(each, names) for key, each in node.items() if (key, each) != ("default", None)}
    if "$ref" in tidy:
        return tidy | {"$ref": f"#/$defs/{names[tidy['$ref'].rpartition('/')[2]]}"}
    if _NULL in tidy.get("anyOf", []):
        only = next(each for each in tidy.pop("anyOf") if each != _NULL)
        words = f"{tidy['description']} {only.get('description', '')}".strip()
        return tidy | only | {"description": words}
    return tidy
