"""The documents a command writes beside, or instead of, what it shows on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import click

from etsched.bootstrap.output import write_result
from etsched.errors import OutputRefused


def written(targets: Mapping[str, str | None], render: Callable[[str], str]) -> bool:
    """Write each document that has a target; tells whether the terminal is free, so that something is shown there.

    Raises OutputRefused, also for a target that is named twice or that the command reads from: nothing is written then.
    """
    asked = {name: target for name, target in targets.items() if target is not None}
    for target in asked.values():
        if list(asked.values()).count(target) > 1:
            named = "standard output" if target == "-" else target
            raise OutputRefused(f"{named}: two results would go there; name one place for each.")
        if target != "-" and any(_is_same(Path(target), source) for source in _sources()):
            raise OutputRefused(f"{target}: it is read from and stays as it is; name another file for the result.")
    for name, target in asked.items():
        write_result(target, render(name))
        if target != "-":
            click.echo(f"Written: {target}", err=True)
    return "-" not in asked.values()


def _sources() -> Iterator[Path]:
    """Give the files that the command was told to read: its parameters that are paths, results being texts."""
    for value in click.get_current_context().params.values():
        for each in value if isinstance(value, tuple) else (value,):
            if isinstance(each, Path):
                yield each


def _is_same(target: Path, source: Path) -> bool:
    try:
        return target.samefile(source)
    except OSError:  # one of them is not there
        return False
