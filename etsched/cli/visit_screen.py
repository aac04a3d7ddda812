"""A visit on the terminal: the same rows as page and JSON, shorter, what the clock delivers first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.markup import escape

from etsched.cli.screen import console, grid
from etsched.tables.visit import VisitTable, visit_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from rich.table import Table

    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.tables.visit_recovery import VisitRecovery
    from etsched.units import UnitSystem


def show_visit(outcome: VisitOutcome, system: UnitSystem | None) -> None:
    """Print a visit: the clock, the verdicts, findings, repairs, the wiring, how it comes back, the proof, cautions."""
    out = console()
    table = visit_table(outcome, system)
    by = f" by {escape(table.technician)}" if table.technician else ""
    out.print(f"[bold]{escape(table.site)}[/bold], visit of {table.day.in_full}{by}")
    if table.proof is not None:
        out.print(f"[bold]{escape(table.proof.statement)}[/bold]")
    if table.bare:
        out.print("Only the day was written down: nothing was seen, measured or judged.")
    for part in _parts(table):
        out.print()
        out.print(part)
    for credit in table.credits:
        out.print(escape(credit))


def _parts(table: VisitTable) -> Iterator[Table]:
    yield from _clock(table)
    yield from _causes(table)
    yield from _findings(table)
    yield from _repairs(table)
    yield from _chart(table)
    if table.recovery is not None:
        yield from _recovery(table.recovery)
    yield from _proof(table)
    yield from _list("To heed", dict.fromkeys(line for group in table.cautions for line in group.lines))


def _list(title: str, lines: Iterable[str]) -> Iterator[Table]:
    """Set sentences one under the other; nothing where there are none."""
    rows = [("•", line) for line in lines]
    if rows:
        shown = grid(("", ""), rows, title)
        shown.show_header = False
        yield shown


def _grid(heads: Sequence[str], rows: Sequence[Sequence[str]], title: str) -> Iterator[Table]:
    """Set rows under their heads; nothing where there are none."""
    if rows:
        yield grid(heads, rows, title)


def _clock(table: VisitTable) -> Iterator[Table]:
    if table.clock is None:
        return
    heads = (">st.", "area", ">runs", ">min", ">given", ">turf uses", ">of use", ">moist to", ">runs off", "remarks")
    rows = [
        (
            str(row.terminal),
            row.area,
            str(row.runs),
            row.minutes.number,
            *(each.text for each in (row.depth, row.use, row.of_use, row.wetted, row.runoff)),
            row.remark,
        )
        for row in table.clock.rows
    ]
    yield from _grid(heads, rows, "What the clock delivers in a week, today")
    yield from _list("About the clock", table.clock.remarks)


def _causes(table: VisitTable) -> Iterator[Table]:
    rows = [
        (
            area.area,
            area.verdict,
            ", ".join(row.name for row in area.possible),
            " ".join(area.advice),
            area.next_test,
        )
        for area in table.causes
    ]
    yield from _grid(("area", "likely", "possible", "what to do", "next test"), rows, "Why it fails")
    yield from _list("What to leave", table.held)


def _findings(table: VisitTable) -> Iterator[Table]:
    rows = [
        (
            "all" if row.terminal is None else str(row.terminal),
            row.effect,
            "" if row.value.value is None else row.value.text,
            row.sentence,
        )
        for row in table.findings.rows
    ]
    yield from _grid((">st.", "effect", ">figure", "finding"), rows, "What enters the plan")
    left_out = [f"Station {row.terminal} ({row.area}): {row.reason}" for row in table.findings.left_out]
    yield from _list("Left out of the plan", left_out)
    yield from _list("To know", table.findings.remarks)


def _repairs(table: VisitTable) -> Iterator[Table]:
    mends = [
        (str(row.rank), ", ".join(map(str, row.terminals)), row.where, row.sentence, row.on.text)
        for row in table.mends
    ]
    yield from _grid((">no.", ">st.", "where", "what to do", "to be mended on"), mends, "What to mend")
    heads = (">no.", ">st.", "area", "DU(lq)", "minutes a week", "water a week", ">driest quarter gains")
    rows = [
        (
            str(row.rank),
            str(row.terminal),
            row.area,
            row.evenness,
            row.minutes,
            row.water,
            row.driest_quarter.text,
        )
        for row in table.repairs
    ]
    yield from _grid(heads, rows, "What the repairs are worth")


def _chart(table: VisitTable) -> Iterator[Table]:
    if table.chart is None:
        return
    rows = [
        (str(line.terminal), line.plan_number, line.waters, line.known, line.filed_as if line.area else "", line.note)
        for line in table.chart.lines
    ]
    heads = (">st.", "drawing", "waters", "how it is known", "was filed as", "note")
    yield from _grid(heads, rows, "What each station waters")
    open_yet = filter(None, (table.chart.left, table.chart.still_to_run, table.chart.next_try))
    yield from _list("About the wiring", (*table.chart.contradictions, *open_yet))


def _recovery(plan: VisitRecovery) -> Iterator[Table]:
    heads = (">st.", "area", "night", ">cycles × min", ">soak", ">put on", ">short then", "wet to the target")
    nights = [
        (
            str(row.terminal),
            row.area,
            night.night,
            night.cycles,
            str(night.soak_minutes or "·"),
            night.applied.text,
            night.left.text,
            row.reached.text,
        )
        for row in plan.rewets
        for night in row.nights
    ]
    yield from _grid(heads, nights, "Rewetting, night by night")
    yield from _list("Which nights to key in", filter(None, [plan.key_in]))
    yield from _list("How it comes back", _dates(plan))
    by_hand = [
        (
            str(row.terminal),
            row.area,
            *(row.first.text, row.first_volume.text, row.first_minutes),
            *(row.daily.text, row.daily_volume.text, row.daily_minutes),
            row.until.text,
        )
        for row in plan.by_hand
    ]
    once_and_daily = (">once", ">water", "minutes", ">then each day", ">water", "minutes")
    yield from _grid((">st.", "area", *once_and_daily, "until"), by_hand, "By hand")
    yield from _list("About the minutes by hand", dict.fromkeys(row.rate_note for row in plan.by_hand if row.rate_note))


def _dates(plan: VisitRecovery) -> Iterator[str]:
    for row in plan.rewets:
        if row.moist.value is not None and row.nights:
            feed = f", feed on {row.feed.text}" if row.feed.value is not None else ""
            yield f"Station {row.terminal} ({row.area}): moist on {row.moist.text}{feed}."
    for fed in plan.feeds:
        product = "" if fed.product.value is None else f", {fed.product.text} of product"
        whole = "" if fed.product_weight.value is None else f" ({fed.product_weight.text} for the area)"
        dose = f"nitrogen {fed.nitrogen.text}{product}{whole}"
        yield f"Feed station {fed.terminal} ({fed.area}) on {fed.day.text}: {dose}."
    for unfed in plan.unfed:
        yield f"{unfed.stations}: {unfed.reason}"
    for cover in plan.covers:
        yield cover.sentence
    yield " ".join(filter(None, (f"Look again: {plan.look_again.text}.", plan.green)))


def _proof(table: VisitTable) -> Iterator[Table]:
    if table.proof is None:
        return
    yield from _list(
        f"Proof of the visit of {table.proof.since.in_full}",
        (
            text
            for row in table.proof.stations
            for text in (row.sentence, *(f"{cause.sentence} {cause.change}" for cause in row.causes))
        ),
    )
    heads = (">st.", "area", "turf", ">moist, predicted", ">found", ">lacks, predicted", ">found", "so it is")
    rows = [
        (
            str(core.terminal),
            core.area,
            core.colour,
            core.moist_predicted.text,
            core.moist_found.text,
            core.missing_predicted.text,
            core.missing_found,
            core.verdict,
        )
        for core in table.proof.cores
    ]
    yield from _grid(heads, rows, "Core by core")
