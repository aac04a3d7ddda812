"""Every number that enters or leaves the core, or stands in the model, wears a suffix that says its unit."""

from __future__ import annotations

import ast
import dataclasses
import importlib
import inspect
import pkgutil
import re
import typing
from collections.abc import Callable, Iterator
from functools import cache
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

import etsched.core
import etsched.model
from etsched.quantities import quantity_of

# Numbers without a unit of their own in the name, each with the reason.
ALLOWED = {
    **dict.fromkeys(
        [f"etsched.model.site.Known.{bound}" for bound in ("value", "low", "high")],
        "the field that holds a Known says the unit",
    ),
    **dict.fromkeys(
        [f"etsched.model.plan.Assumption.{bound}" for bound in ("value", "low", "high")],
        "the suffix stands in a field of its own",
    ),
    "etsched.model.plan.Step.value": "the suffix stands in a field of its own",
}
# Names of arrays that identify things and measure nothing.
IDENTIFIERS = {"terminal"}


def modules_of(package: ModuleType) -> list[ModuleType]:
    """Import every module of a package."""
    found = pkgutil.walk_packages(package.__path__, package.__name__ + ".")
    return [package, *(importlib.import_module(info.name) for info in found)]


@cache
def names_of(module: ModuleType) -> dict[str, Any]:
    """Give a module's names, those too that it imports or defines for type checkers only."""
    names = dict(vars(module))
    for node in ast.parse(inspect.getsource(module)).body:
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            for line in node.body:
                if isinstance(line, ast.ImportFrom) and (line.module or "").startswith("etsched"):
                    known = names_of(importlib.import_module(line.module or ""))
                    names |= {each.asname or each.name: known[each.name] for each in line.names}
                else:
                    exec(compile(ast.Module([line], []), module.__name__, "exec"), names)  # noqa: S102
    return names


def hints_of(thing: Any, module: ModuleType) -> dict[str, Any]:
    """Resolve the annotations of a function or a record."""
    return typing.get_type_hints(thing, names_of(module))


def holds_number(hint: Any) -> bool:
    """Say whether floats or arrays of numbers are in a type, however deep."""
    if typing.get_origin(hint) is np.ndarray:
        return not any(kind in str(hint) for kind in ("numpy.bool", "numpy.str", "numpy.datetime64"))
    if isinstance(hint, type) and issubclass(hint, (float, np.floating, np.ndarray)):
        return True
    return any(holds_number(part) for part in typing.get_args(hint))


def returns_of(docstring: str) -> list[str]:
    """Give the names of a numpy `Returns` section: of its `name : type` lines, or its bare type."""
    lines = inspect.cleandoc(docstring).splitlines()
    titles = [at for at, line in enumerate(lines) if re.fullmatch(r"-{3,}", line) and at]
    for at in titles:
        if lines[at - 1] == "Returns":
            section = lines[at + 1 : next((later - 1 for later in titles if later > at), len(lines))]
            if section and re.fullmatch(r"[A-Z]\w+", section[0]):
                return [section[0]]
            entries = [line.partition(" : ")[0] for line in section if re.match(r"\w[\w, ]* : ", line)]
            return [name.strip() for names in entries for name in names.split(",")]
    return []


def is_listed(name: str) -> bool:
    """Say whether a name ends in a listed suffix or identifies something."""
    return quantity_of(name) is not None or name in IDENTIFIERS


def findings_of_function(function: Callable[..., Any], module: ModuleType) -> Iterator[str]:
    """Tell what is wrong with the names of a function's numbers and its docstring."""
    label = f"{module.__name__}.{function.__name__}"
    hints = hints_of(function, module)
    result = hints.pop("return", None)
    for name, hint in hints.items():
        if holds_number(hint) and not is_listed(name):
            yield f"{label}: parameter {name} ends in no listed suffix"
    if result is None or result is type(None):
        return
    returned = returns_of(function.__doc__ or "")
    if not returned:
        yield f"{label}: no Returns section that names what comes back"
    for name in returned:
        if holds_number(result) and not is_listed(name):
            yield f"{label}: result {name} ends in no listed suffix"


def findings_of_class(record: type, module: ModuleType) -> Iterator[str]:
    """Tell which fields and properties of a record are numbers without a suffix."""
    label = f"{module.__name__}.{record.__name__}"
    hints = hints_of(record, module)
    for name, value in vars(record).items():
        if isinstance(value, property) and value.fget is not None:
            hints[name] = hints_of(value.fget, module).get("return")
    for name, hint in hints.items():
        public = not name.startswith("_")
        if public and holds_number(hint) and not is_listed(name) and f"{label}.{name}" not in ALLOWED:
            yield f"{label}: field {name} ends in no listed suffix"


def public_members(module: ModuleType) -> Iterator[Any]:
    """Give the public functions and records that a module defines."""
    for name, thing in vars(module).items():
        if not name.startswith("_") and getattr(thing, "__module__", None) == module.__name__:
            yield thing


MEMBERS = [
    pytest.param(thing, module, id=f"{module.__name__}.{thing.__name__}")
    for package in (etsched.core, etsched.model)
    for module in modules_of(package)
    for thing in public_members(module)
    if inspect.isfunction(thing) or inspect.isclass(thing)
]


def findings(thing: Any, module: ModuleType) -> list[str]:
    """Tell what is wrong with a function or a record."""
    return list((findings_of_class if inspect.isclass(thing) else findings_of_function)(thing, module))


@pytest.mark.parametrize(("thing", "module"), MEMBERS)
def test_numbers_wear_their_unit(thing: Any, module: ModuleType) -> None:
    assert findings(thing, module) == []


def test_the_walk_finds_the_core_and_the_model() -> None:
    walked = [param.values[0] for param in MEMBERS]
    assert sum(map(inspect.isfunction, walked)) >= 60
    assert sum(map(inspect.isclass, walked)) >= 15


def test_nothing_is_allowed_that_is_not_there() -> None:
    for path in ALLOWED:
        owner, _, name = path.rpartition(".")
        module, _, record = owner.rpartition(".")
        fields = dataclasses.fields(getattr(importlib.import_module(module), record))
        assert name in {field.name for field in fields}


def good(depth_mm: NDArray[np.float64], names: list[str]) -> float:
    """Keep the rule.

    Parameters
    ----------
    depth_mm : ndarray (S,)

    Returns
    -------
    rate_mm_h, error_mm : float
        And a word about it : not an entry.

    Raises
    ------
    other : of no concern.
    """
    return float(depth_mm[0]) + len(names)


def bad_parameter(depth: dict[int, tuple[float, ...]], share: float | None, wind_kt: np.float64) -> None:
    """Return nothing, so only the parameters are wrong."""


def bad_result(depth_mm: float) -> NDArray[np.int64]:
    """Name the results wrongly.

    Returns
    -------
    minutes : ndarray (S,)
    depth_mm : ndarray (S,)
    """
    return np.array([depth_mm], dtype=np.int64)


def no_result_said(depth_mm: float) -> bool:
    """Return something and say nothing of it."""
    return depth_mm > 0


def bare_type(depth_mm: float) -> ModuleType:
    """Return a record, whose fields are looked at where it is defined.

    Returns
    -------
    ModuleType
    """
    return SELF


def bare_number(depth_mm: float) -> NDArray[np.float64]:
    """Return a number without its name.

    Returns
    -------
    Array
    """
    return np.array([depth_mm])


@dataclasses.dataclass
class BadRecord:
    """Hold numbers nobody can read."""

    depth: float
    depth_mm: float
    rates: list[NDArray[np.float64]]
    wet: NDArray[np.bool_]

    @property
    def speed(self) -> float:
        """Hide a number in a property."""
        return self.depth


SELF = importlib.import_module(__name__)


@pytest.mark.parametrize(
    ("thing", "expected"),
    [
        (good, []),
        (bad_parameter, ["parameter depth", "parameter share", "parameter wind_kt"]),
        (bad_result, ["result minutes"]),
        (no_result_said, ["no Returns section"]),
        (bare_type, []),
        (bare_number, ["result Array"]),
        (BadRecord, ["field depth ", "field rates", "field speed"]),
    ],
)
def test_the_check_finds_what_is_wrong(thing: Any, expected: list[str]) -> None:
    found = findings(thing, SELF)
    assert len(found) == len(expected)
    for sentence, part in zip(found, expected, strict=True):
        assert part in sentence
