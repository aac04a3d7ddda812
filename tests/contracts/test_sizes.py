"""Modules and functions stay of a size that a reader can hold."""

from __future__ import annotations

import ast
from statistics import median, quantiles

from .conftest import Function, Source


def length_of(function: Function) -> int:
    """Count a function's lines, its docstring too."""
    return (function.end_lineno or function.lineno) - function.lineno + 1


def parameters_of(function: Function) -> int:
    """Count what a caller may hand over; `self` is not handed over."""
    given = function.args
    names = [each.arg for each in (*given.posonlyargs, *given.args, *given.kwonlyargs)]
    extra = [each for each in (given.vararg, given.kwarg) if each]
    return len([name for name in names if name not in {"self", "cls"}]) + len(extra)


def is_command(function: Function) -> bool:
    """Say whether it is a command: click hands it one parameter an option, nobody else calls it."""
    return any(ast.unparse(mark).startswith("click.command(") for mark in function.decorator_list)


def each_function(sources: list[Source]) -> list[tuple[str, Function]]:
    """Give every function of the package with the place it stands in."""
    return [
        (f"{source.path}:{function.lineno} {function.name}", function)
        for source in sources
        for function in source.functions
    ]


def test_no_module_is_over_500_lines_and_the_median_within_150(sources: list[Source]) -> None:
    lengths = {source.path: source.lines_count for source in sources if not source.path.endswith("__init__.py")}
    assert {path: length for path, length in lengths.items() if length > 500} == {}
    assert median(lengths.values()) <= 150


def test_no_function_is_over_60_lines_and_nine_in_ten_within_25(sources: list[Source]) -> None:
    lengths = {place: length_of(function) for place, function in each_function(sources)}
    assert {place: length for place, length in lengths.items() if length > 60} == {}
    assert quantiles(lengths.values(), n=10)[-1] <= 25


def test_no_function_takes_more_than_6_parameters(sources: list[Source]) -> None:
    called = [(place, function) for place, function in each_function(sources) if not is_command(function)]
    counts = {place: parameters_of(function) for place, function in called}
    assert {place: count for place, count in counts.items() if count > 6} == {}


def test_lengths_and_parameters_are_counted_whole() -> None:
    text = 'class A:\n    def f(self, a, /, b, *c, d, **e):\n        """Say.\n\n        More.\n        """\n'
    (function,) = Source("a.py", text, ast.parse(text)).functions
    assert length_of(function) == 5
    assert parameters_of(function) == 5
