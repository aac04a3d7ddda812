"""`etsched completion`: the line a shell needs."""

from __future__ import annotations

import click

_LINES = {
    "bash": 'eval "$(_ETSCHED_COMPLETE=bash_source etsched)"',
    "zsh": 'eval "$(_ETSCHED_COMPLETE=zsh_source etsched)"',
    "fish": "_ETSCHED_COMPLETE=fish_source etsched | source",
}


@click.command("completion")
@click.argument("shell", type=click.Choice(list(_LINES)))
def command(shell: str) -> None:
    """Print the line to add to your shell's start-up file."""
    click.echo(_LINES[shell])
