"""A heat check on the terminal: what happens, what to do and until when, then station by station and night by night."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.markup import escape

from etsched.cli.screen import console, grid
from etsched.tables.heat_check import TOO_DRY, HeatTable, heat_table

if TYPE_CHECKING:
    from rich.table import Table

    from etsched.model.heat import HeatCheck
    from etsched.units import UnitSystem


def show_heat(found: HeatCheck, system: UnitSystem | None) -> None:
    """Print the check, the answer first."""
    out = console()
    table = heat_table(found, system)
    out.print(f"[bold]{escape(table.site)}[/bold], heat check for {table.days}")
    out.print(f"[bold]{escape(table.heading)}[/bold]")
    out.print(escape(table.spell))
    out.print()
    for line in table.verdict:
        out.print(f"[bold]{escape(line)}[/bold]")
    out.print()
    for line in (*table.steps, f"Until when: {table.back}"):
        out.print(escape(line))
    out.print()
    if table.rows:
        out.print(_stations(table))
        out.print(TOO_DRY)
    if table.fine:
        out.print(table.fine)
    if table.nights:
        out.print()
        out.print(_nights(table))
        for night in table.nights:
            out.print(f"{night.label}: {'. '.join((night.words, *night.rest))}.")
        out.print(table.how)
    out.print()
    out.print(grid(("in heat", "source"), table.advice))
    out.print()
    notes = grid(("", ""), [("•", note) for note in table.notes], "To know")
    notes.show_header = False
    out.print(notes)
    out.print(f"\nWeather: {escape(table.weather)}.")
    for text in table.credits:
        out.print(escape(text))


def _stations(table: HeatTable) -> Table:
    heads = (">st.", "area", "too dry on", ">by at most", "without the heat", "extra runs cure it", ">extra, min")
    rows = [
        (
            str(row.terminal),
            row.area,
            row.dry,
            row.by,
            row.usual.removeprefix("without the heat "),
            row.helped,
            str(row.extra_min or "·"),
        )
        for row in table.rows
    ]
    return grid(heads, rows, "Who gets too dry with the clock as it stands")


def _nights(table: HeatTable) -> Table:
    heads = ("night", ">st.", "area", ">extra, min", "runs × min")
    rows = [
        (night.label, str(run.terminal), run.area, run.minutes, run.how)
        for night in table.nights
        for run in night.listed
    ]
    return grid(heads, rows, "Extra runs, night by night")
