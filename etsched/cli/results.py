"""The documents a command writes beside, or instead of, what it shows on the terminal."""

from __future__ import annotations

from collections.abc import Callable

import click

from etsched.bootstrap.output import write_result


def written(targets: dict[str, str | None], render: Callable[[str], str]) -> bool:
    """Write each document that has a target; tells whether the terminal is free, so that something is shown there.

    Raises OutputRefused.
    """
    for name, target in targets.items():
        if target is not None:
            write_result(target, render(name))
            if target != "-":
                click.echo(f"Written: {target}", err=True)
    return "-" not in targets.values()
