"""A heat check on the terminal: what happens, what to key in, whether it fits, when to go back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.markup import escape

from etsched.cli.screen import console, grid
from etsched.tables.heat_check import HeatTable, heat_table
from etsched.tables.heat_fit import ADDED_NOTE

if TYPE_CHECKING:
    from rich.table import Table

    from etsched.model.heat import HeatCheck
    from etsched.units import UnitSystem


def show_heat(found: HeatCheck, system: UnitSystem | None) -> None:
    """Print the check, the answer first."""
    out = console()
    table = heat_table(found, system)
    out.print(f"[bold]{escape(table.site)}[/bold], heat check for {table.days}")
    out.print(escape(table.spell))
    out.print()
    for line in table.verdict:
        out.print(f"[bold]{escape(line)}[/bold]")
    out.print()
    out.print(_stations(table))
    out.print()
    out.print(_nights(table))
    out.print(ADDED_NOTE)
    out.print()
    for line in (*table.to_add, *table.percent, table.back):
        out.print(escape(line))
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
    heads = (
        ">st.",
        "area",
        "passes on",
        ">by",
        "without the heat",
        "helped",
        "add, min by the night's first day",
        ">sum",
        "run then as",
        f">short at {table.set_percent}",
        ">too much",
    )
    rows = [
        (
            str(row.terminal),
            row.area,
            row.passes,
            row.excess.number if row.excess.value else "·",
            row.usual_passes,
            row.helped,
            row.add,
            str(row.extra_min) if row.extra_min else "·",
            row.cycles,
            *(each.number if each.value and float(each.shown) else "·" for each in (row.under, row.over)),
        )
        for row in table.rows
    ]
    unit = table.rows[0].excess.unit if table.rows else ""
    return grid(heads, rows, f"Stations with the table as it stands, and what they lack; all depths: {unit}")


def _nights(table: HeatTable) -> Table:
    rows = [
        (
            night.label,
            str(night.added_min or "·"),
            str(night.bound_min),
            str(night.length_min),
            night.holds,
        )
        for night in table.nights
    ]
    heads = ("night", ">added, min", ">all runs take at least, min", ">window, min", "holds it")
    return grid(heads, rows, "The nights with all additions")
