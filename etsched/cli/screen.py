"""Tables on the terminal: the same rows as page, CSV and JSON, set with rich."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from etsched.days import day_text
from etsched.tables.assumptions import assumption_groups, first_to_measure
from etsched.tables.books import books_table
from etsched.tables.et import COLUMNS, et_table
from etsched.tables.figure import count_of, plain
from etsched.tables.light_runs import LIGHT_TITLE, LightRow, light_table
from etsched.tables.nights import NightColumn
from etsched.tables.rests import hold_table
from etsched.tables.savings import SAVINGS_TITLE, savings_table
from etsched.tables.season import season_table
from etsched.tables.shortfalls import (
    REMEDIES_TITLE,
    SHORTFALLS_TITLE,
    SHORTFALLS_WORDS,
    bound_text,
    remedies_words,
    remedy_table,
    shortfall_table,
)
from etsched.tables.totals import totals
from etsched.tables.volume import Volume, price_words
from etsched.tables.weather import weather_rows, weather_table
from etsched.tables.week import MARKS, WeekTable, week_table
from etsched.tables.working import working_table

if TYPE_CHECKING:
    from datetime import date

    from etsched.model.plan import DayWeather, WeekPlan
    from etsched.planning.et_days import EtDays
    from etsched.units import UnitSystem

# Wide enough for seven nights where nobody's terminal says otherwise, as when the table goes into a file.
_WIDTH_WITHOUT_TERMINAL = 160
_WIDTH_OF_A_WEEK = 120
_GUESSES_SHOWN = 12
_RANGES_SHOWN = 8


class _Console(Console):
    def on_broken_pipe(self) -> None:
        """Leave it to the entry to end quietly, where rich would end with a failure."""
        raise BrokenPipeError


def console() -> Console:
    """Give the console for standard output; a file or a pipe gets plain text of a fixed width."""
    out = _Console(highlight=False)
    return out if out.is_terminal else _Console(highlight=False, width=_WIDTH_WITHOUT_TERMINAL, color_system=None)


def grid(heads: Iterable[str], rows: Iterable[Sequence[str]], title: str = "") -> Table:
    """Set rows under their heads; a head that begins with `>` is a column of numbers, set to the right."""
    table = Table(title=title or None, title_justify="left", title_style="bold", box=None, pad_edge=False)
    for head in heads:
        table.add_column(head.removeprefix(">"), justify="right" if head.startswith(">") else "left", overflow="fold")
    for row in rows:
        table.add_row(*(escape(cell) for cell in row))
    return table


def show_week(plan: WeekPlan, system: UnitSystem | None) -> None:
    """Print the week: the table, what does not fit, what to know, what is guessed."""
    out = console()
    table, sums = week_table(plan, system), totals(plan, system)
    out.print(f"[bold]{escape(table.site)}[/bold], water for the nights {table.week}")
    water = escape(sums.volume.paid_text)
    out.print(f"Reference ET {sums.eto.text}, rain {sums.rain.text}; {sums.minutes} min, {water}")
    out.print(f"{escape(price_words(plan, table.system))}\n")
    out.print(_week_grid(table) if out.width >= _WIDTH_OF_A_WEEK else _night_lists(table))
    used = {sign for row in table.rows for sign in row.mark}
    for sign, text in MARKS.items():
        if sign in used:
            out.print(f"{sign} {text}")
    if light := light_table(plan, system):
        out.print()
        out.print(_light_grid(light))
    missing = [(row.night, str(row.terminal), f"{row.missing_min} min", row.reason) for row in shortfall_table(plan)]
    if missing:
        out.print()
        out.print(grid(("night", ">station", ">left out", "why"), missing, SHORTFALLS_TITLE))
        out.print(SHORTFALLS_WORDS)
    remedies = [(row.words, row.missing.text, row.dry) for row in remedy_table(plan, system)]
    if remedies:
        out.print()
        out.print(grid(("one of these", ">left out", "by evening"), remedies, REMEDIES_TITLE))
        out.print(remedies_words(plan))
    holds = [(row.kind, row.stations, row.nights, row.ends, row.reason) for row in hold_table(plan)]
    if holds:
        out.print()
        out.print(grid(("hold", "stations", "nights from", "ends", "why"), holds, "What keeps valves shut"))
    if plan.notes:
        notes = grid(("", ""), [("•", plain(note)) for note in plan.notes], "To know")
        notes.show_header = False
        out.print()
        out.print(notes)
    _show_savings(out, plan, system)
    _show_guesses(out, plan, system)
    _show_ranges(out, table)
    if plan.bound is not None:
        out.print(f"\n[bold]For whoever checks this plan[/bold]\n{bound_text(plan, system)}")
    weather = weather_table(plan, system)
    out.print(f"\nWeather: {escape(weather.source)}; {escape(weather.as_of)}.")
    for text in plan.attributions:
        out.print(escape(text))


def _week_grid(table: WeekTable) -> Table:
    """Set a line a station and a column a night: first start over cycles, as it is keyed in."""
    nights = [f"{day_text(night.opens_on)[:3]} {night.opens_on.day}" for night in table.nights]
    rows: list[Sequence[str]] = [
        (
            row.mark,
            str(row.terminal),
            row.area,
            *("·" if cell is None else f"{cell.start}\n{cell.cycles}" for cell in row.cells),
            str(row.soak_min or "·"),
            str(row.minutes),
            *_paid(row.volume, table),
        )
        for row in table.rows
    ]
    sums = ("", str(table.minutes), *_paid(table.volume, table))
    rows.append(("", "", "valves off by", *(night.finishes for night in table.nights), *sums))
    rows.append(("", "", "min used/needed", *(_packed(night) for night in table.nights), *("" for _ in sums)))
    window = f"Nights by the day they begin on, {table.nights[0].window}; cycles × minutes, soak and week in minutes"
    water = (f">{table.volume.known.unit or 'water'}", *([f">{table.currency}"] if table.currency else []))
    return grid(("", ">st.", "area", *nights, ">soak", ">week", *water), rows, window)


def _paid(volume: Volume, table: WeekTable) -> tuple[str, ...]:
    """Give the water of the week, and its cost where a price is stated."""
    return (volume.short, *([volume.cost_short] if table.currency else []))


def _packed(night: NightColumn) -> str:
    """Say how long the night lasts beside the least that all that was asked for could take, in any order."""
    return f"{night.used_min}/{night.bound_min}" if night.minutes else "·"


def _night_lists(table: WeekTable) -> Table:
    """Set the same for a narrow screen: under each night's head a line a station that runs."""
    rows: list[Sequence[str]] = []
    for index, night in enumerate(table.nights):
        rows.append(("", "", night.label, night.window, "", ""))
        rows += [
            (row.mark, str(row.terminal), row.area, cell.start, cell.cycles, str(cell.soak_min or ""))
            for row in table.rows
            if (cell := row.cells[index]) is not None
        ]
    return grid(("", ">st.", "area", "first start", "cycles", ">soak"), rows)


def _light_grid(rows: Sequence[LightRow]) -> Table:
    """Set the runs by day, a line a station and day."""
    cells = [
        (row.label, str(row.terminal), row.area, ", ".join(row.starts), str(row.each_min), row.depth.text)
        for row in rows
    ]
    return grid(("day", ">st.", "area", "starts", ">min each", ">put down"), cells, LIGHT_TITLE)


def _show_savings(out: Console, plan: WeekPlan, system: UnitSystem | None) -> None:
    table = savings_table(plan, system)
    if table is None:
        return
    out.print()
    rows = [(str(row.terminal), row.area, row.evenness, row.saved.text, row.saved.cost_text) for row in table.rows]
    if rows:
        rows.append(("", "all", "", table.total.text, table.total.cost_text))
        out.print(grid((">st.", "area", "DU(lq)", ">water saved", ">cost saved"), rows, SAVINGS_TITLE))
    else:
        out.print(f"[bold]{SAVINGS_TITLE}[/bold]")
    for said in (table.unknown, table.nothing_to_save):
        if said:
            out.print(said)


def _show_guesses(out: Console, plan: WeekPlan, system: UnitSystem | None) -> None:
    groups = assumption_groups(plan, system)
    rows = [
        (row.field, row.stations, row.value.text, row.bounds, row.change, row.measure) for row in groups if row.swing
    ]
    if rows:
        out.print()
        heads = ("guess", "stations", "taken as", "could be", "minutes wanted → low / high", "what would tell")
        out.print(grid(heads, rows[:_GUESSES_SHOWN], "Guesses, the weightiest first"))
        out.print(first_to_measure(groups))
        if len(rows) > _GUESSES_SHOWN:
            more = count_of(len(rows) - _GUESSES_SHOWN, "lighter one", "lighter ones")
            out.print(f"… and {more}; the page and the JSON document hold them all.")


def _show_ranges(out: Console, table: WeekTable) -> None:
    spread = [row for row in table.rows if row.likely is not None and row.could_be]
    spread.sort(key=lambda row: row.likely.low_min - row.likely.high_min if row.likely else 0)
    rows = [
        (str(row.terminal), row.area, str(row.likely.wanted_min if row.likely else ""), row.could_be, row.would_tell)
        for row in spread[:_RANGES_SHOWN]
    ]
    if rows:
        out.print()
        heads = (">st.", "area", ">wants", ">likely", "what would narrow it most")
        out.print(grid(heads, rows, "Minutes of the week with all that is uncertain, the widest first"))


def show_working(plan: WeekPlan, terminal: int, opens_on: date | None, system: UnitSystem | None) -> None:
    """Print a station's working for one night, if it runs at all this week, and its water books."""
    out = console()
    blocked = next((each.blocked for each in plan.site.stations if each.terminal == terminal), None)
    if blocked is not None:
        out.print(f"Station {terminal} gets no minutes: {escape(plain(blocked))}.\n")
    if opens_on is not None:
        table = working_table(plan, terminal, opens_on, system)
        name = f"[bold]Station {table.terminal}, {escape(table.area)}[/bold]"
        out.print(f"{name}, {table.night}: {escape(table.outcome)}")
        out.print(escape(table.in_short))
        if table.reason:
            out.print(f"Why: it {escape(table.reason)}.")
        if table.steps:
            out.print()
            steps = [(step.name, step.value.text, step.formula, step.source) for step in table.steps]
            out.print(grid(("step", ">value", "how", "source"), steps))
        out.print()
    out.print(_books(plan, terminal, system))


def _books(plan: WeekPlan, terminal: int, system: UnitSystem | None) -> Table:
    heads = ("day", ">missing at dawn", ">watered", ">rain", ">used", ">passed roots", ">missing at dusk", ">allowable")
    rows = [
        (
            row.day,
            *(each.text for each in (row.start, row.irrigation, row.rain, row.et, row.passed, row.end, row.allowable)),
        )
        for row in books_table(plan, system)
        if row.terminal == terminal
    ]
    return grid(heads, rows, f"Water books of station {terminal}: what the root zone misses, day by day")


def show_season(plans: Sequence[WeekPlan], system: UnitSystem | None) -> None:
    """Print a season, a line a week, and its total."""
    table = season_table(plans, system)
    heads = (
        "week of",
        ">ETo",
        ">rain",
        ">minutes",
        ">station-nights",
        ">mean depth",
        ">water",
        ">dry station-days",
        ">missing",
    )
    rows = [
        (
            row.week,
            row.eto.text,
            row.rain.text,
            f"{row.minutes:,}",
            f"{row.waterings:,}",
            row.depth.text,
            row.volume.text,
            str(row.dry_days),
            f"{row.missing_min} min",
        )
        for row in (*table.rows, table.total)
    ]
    console().print(grid(heads, rows, escape(plans[0].site.name)))


def show_et(days: EtDays, system: UnitSystem) -> None:
    """Print the reference ET of every day, a dash where a formula lacks what it needs."""
    heads = ("day", ">lowest", ">highest", ">rain", *(f">{name}" for name in COLUMNS.values()), "filled")
    rows = [
        (row.day.isoformat(), *(each.text for each in (row.tmin, row.tmax, row.rain, *row.et)), row.filled)
        for row in et_table(days, system)
    ]
    console().print(grid(heads, rows, "Reference ET"))


def show_fortnight(days: Sequence[DayWeather], system: UnitSystem, attributions: Sequence[str]) -> None:
    """Print a fortnight's weather, a line a day, and whose data it is."""
    out = console()
    heads = ("day", "known", ">low", ">high", ">rain", ">ETo", "likely", "grade", "what was filled, and why the grade")
    rows = [
        (
            row.day,
            row.kind,
            row.tmin.text,
            row.tmax.text,
            row.rain.text,
            row.eto.text,
            row.eto_range,
            row.grade,
            "; ".join(part for part in (row.filled, row.reasons) if part),
        )
        for row in weather_rows(days, system)
    ]
    out.print(grid(heads, rows, "The fortnight's weather"))
    for text in attributions:
        out.print(escape(text))
