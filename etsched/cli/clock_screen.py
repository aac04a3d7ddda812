"""The programs of an ordinary clock on the terminal: what to change, what to key in, what it costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.markup import escape

from etsched.cli.screen import console, grid
from etsched.reference.coils import cautions
from etsched.tables.clock_programs import ClockSheetTable, clock_sheet, signed

if TYPE_CHECKING:
    from rich.table import Table

    from etsched.units import UnitSystem
    from etsched.usecases.clock import ClockSheet


def show_clock(sheet: ClockSheet, system: UnitSystem | None) -> None:
    """Print the sheet: first what differs from the clock as it is, where that is known."""
    out = console()
    table = clock_sheet(sheet.table, sheet.changes, system)
    out.print(f"[bold]{escape(table.site)}[/bold], programs for the nights {table.week}")
    out.print(f"Programs: {table.controller}; {table.entries}.\n")
    if table.changes is not None:
        changes = [(each.program, each.what) for each in table.changes]
        out.print(grid(("program", "change"), changes, "What to change in the clock") if changes else _NOTHING)
        out.print()
    if table.programs:
        out.print(_programs(table))
        out.print()
        out.print(_minutes(table))
        out.print()
    if table.fullness:
        out.print(escape(table.fullness))
    if table.short:
        short = [(str(row.terminal), row.area, f"{row.missing_min} min", row.reason) for row in table.short]
        title = "Stations that get fewer minutes than the plan wants"
        out.print(grid((">st.", "area", ">a week too little", "why"), short, title))
        out.print()
    out.print(_cost(table))
    over = f"{signed(table.over_volume)} {table.over_volume.unit}" if table.over_volume.value else "·"
    out.print(f"Water {escape(table.volume.text)}, {over} against the plan; {table.most_over}.\n")
    lines = (table.key_in, *table.notes, "Watering restrictions of the place override every plan.", *cautions())
    notes = grid(("", ""), [("•", note) for note in lines], "To know")
    notes.show_header = False
    out.print(notes)
    out.print(f"\nWeather: {escape(table.weather)}.")
    for text in table.credits:
        out.print(escape(text))


_NOTHING = "Nothing is to be changed: the clock holds this table already."


def _programs(table: ClockSheetTable) -> Table:
    heads = ("program", "days", "starts", ">minutes of a pass", "last valve off")
    rows = [(one.letter, one.days, ", ".join(one.starts), str(one.length_min), one.ends) for one in table.programs]
    return grid(heads, rows, f"Programs; window {table.window}, one valve at a time, percent adjust 100%")


def _minutes(table: ClockSheetTable) -> Table:
    heads = (">st.", "area", *(f">{each.letter}" for each in table.programs), ">nights", ">cycles", ">soak", ">week")
    rows = [
        (
            str(row.terminal),
            row.area,
            *(str(minutes) if minutes else "·" for minutes in row.cells),
            str(row.nights or row.state),
            row.cycles,
            row.soak,
            str(row.week_min),
        )
        for row in table.rows
    ]
    return grid(heads, rows, "Minutes of each station in each program; cycles of a night, soak that comes (least)")


def _cost(table: ClockSheetTable) -> Table:
    unit, water = (table.rows[0].wanted.unit, table.over_volume.unit) if table.rows else ("", "")
    depths = (">wanted", ">credited", ">over or under", ">put down", ">past allowable")
    heads = (">st.", *depths, f">water {water}", ">more or less")
    rows = [
        (
            str(row.terminal),
            row.wanted.number,
            row.credited.number,
            signed(row.over),
            row.applied.number,
            signed(row.past),
            row.volume.number,
            signed(row.over_volume),
        )
        for row in table.rows
        if row.wanted.value or row.week_min
    ]
    return grid(heads, rows, f"What rounding and grouping cost against the week as planned; all depths: {unit}")
