"""Everything public says what it is, and everything public of the core where it comes from."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

import pytest

from .conftest import Function, Source

ORIGIN = re.compile(r"^Source: \S|\bEqs?\. ?\d", re.MULTILINE)


def public_nodes(tree: ast.Module | ast.ClassDef) -> Iterator[Function | ast.ClassDef]:
    """Give public functions and classes with their public methods, not what is inside functions."""
    for node in tree.body:
        if isinstance(node, Function | ast.ClassDef) and not node.name.startswith("_"):
            if not any(ast.unparse(mark).endswith("overload") for mark in node.decorator_list):
                yield node
            if isinstance(node, ast.ClassDef):
                yield from public_nodes(node)


def undocumented(source: Source) -> list[str]:
    """Name what is public in a module and has no docstring."""
    bare = [node.name for node in public_nodes(source.tree) if not ast.get_docstring(node)]
    return bare if ast.get_docstring(source.tree) else ["the module itself", *bare]


def without_origin(source: Source) -> list[str]:
    """Name the public functions of a module that do not say where their formula comes from."""
    functions = [node for node in source.tree.body if isinstance(node, Function)]
    public = [node for node in functions if not node.name.startswith("_")]
    return [node.name for node in public if not ORIGIN.search(ast.get_docstring(node) or "")]


def test_everything_public_has_a_docstring(sources: list[Source]) -> None:
    assert {source.path: names for source in sources if (names := undocumented(source))} == {}


def test_every_function_of_the_core_names_its_source(sources: list[Source]) -> None:
    core = [source for source in sources if source.path.startswith("etsched/core/")]
    assert {source.path: names for source in core if (names := without_origin(source))} == {}


SPOILT = '''
def bare(): ...
class Record:
    """Say what it is."""
    def method(self): ...
    def _own(self): ...
def told():
    """Compute it (Eq. 6)."""
def sourced():
    """Compute it.

    Source: FAO-56.
    """
def unsourced():
    """Compute it from the source: Equality."""
'''


@pytest.mark.parametrize(
    ("check", "found"),
    [
        (undocumented, ["the module itself", "bare", "method"]),
        (without_origin, ["bare", "unsourced"]),
    ],
)
def test_the_check_finds_what_is_missing(check, found: list[str]) -> None:
    assert check(Source("spoilt.py", SPOILT, ast.parse(SPOILT))) == found
