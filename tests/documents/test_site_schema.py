from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from etsched.documents.site_file import parse_site
from etsched.documents.site_schema import site_schema
from etsched.documents.starter import starter_site

# The starter with one more station about which only the least is said.
LEAST = (
    starter_site()
    + """
[[station]]
terminal = 3
area = "Lawn"
head = "spray"
turf = "cool-season"
soil = "loam"
"""
)
WRITTEN = Path(__file__).parents[2] / "config" / "site.schema.json"


def nodes(node: Any) -> Iterator[dict[str, Any]]:
    if isinstance(node, dict):
        yield node
    if isinstance(node, dict | list):
        for each in node.values() if isinstance(node, dict) else node:
            yield from nodes(each)


def test_the_written_schema_is_the_one_of_the_models():
    assert json.loads(WRITTEN.read_text("utf-8")) == site_schema()


def test_every_key_is_described():
    schema = site_schema()
    for table in (schema, *(schema["$defs"][name] for name in ("place", "watering", "station"))):
        assert table["additionalProperties"] is False
        for key, entry in table["properties"].items():
            assert "description" in entry or "$ref" in entry, key


def test_every_reference_leads_somewhere_and_nothing_is_null():
    schema = site_schema()
    for node in nodes(schema):
        assert node.get("type") != "null"
        if "$ref" in node:
            assert node["$ref"].removeprefix("#/$defs/") in schema["$defs"]


STATION = site_schema()["$defs"]["station"]["properties"]
KNOWN = {key: entry["$ref"].rpartition("/")[2] for key, entry in STATION.items() if "$ref" in entry}


@pytest.mark.parametrize("key", sorted(set(KNOWN) - {"precip_rate", "wettest_quarter_rate"}))
def test_the_examples_of_the_schema_are_read_alone_and_with_how_they_are_known(key):
    alone, table = site_schema()["$defs"][KNOWN[key]]["anyOf"]
    assert table["properties"]["value"] == alone
    for example in alone["examples"]:
        written = json.dumps(example)
        short = parse_site(f"{LEAST}{key} = {written}\n", "site.toml")
        long = parse_site(f'{LEAST}{key} = {{ value = {written}, known = "stated" }}\n', "site.toml")
        assert getattr(short.stations[2], key) is not None
        assert short == long


def test_a_precipitation_rate_is_only_accepted_with_how_it_is_known():
    definition = site_schema()["$defs"][KNOWN["precip_rate"]]
    assert definition["required"] == ["value", "known"]
    assert "anyOf" not in definition


def test_the_starter_names_every_key():
    text = starter_site()
    schema = site_schema()
    keys = {key for name in ("place", "watering", "station") for key in schema["$defs"][name]["properties"]}
    for key in keys | set(schema["properties"]):
        assert f"\n{key} = " in text or f"\n# {key} = " in text or f"[{key}]" in text, key
