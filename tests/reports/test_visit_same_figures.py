"""One source: the figures of the rows, the JSON, the page and the terminal are the same."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass

import pytest

from etsched.cli.visit_screen import show_visit
from etsched.reports.visit_json import visit_json
from etsched.reports.visit_page import visit_page
from etsched.tables.figure import Figure
from etsched.tables.visit import visit_table
from tests.reports.sample_visit import empty_outcome, first_outcome, hostile_outcome, return_outcome
from tests.reports.test_week_page import Page

OUTCOMES = pytest.mark.parametrize("outcome", [first_outcome, return_outcome])
SYSTEMS = pytest.mark.parametrize("system", ["us", "metric"])


def figures_of(value):
    """Every figure of a table that is known, as its reader reads it."""
    if isinstance(value, Figure):
        return [] if value.value is None else [value.text]
    if isinstance(value, tuple):
        return [text for each in value for text in figures_of(each)]
    if is_dataclass(value):
        return [text for each in fields(value) for text in figures_of(getattr(value, each.name))]
    return []


def readers_of(value):
    """Every figure of a document that is known, as its reader reads it."""
    if isinstance(value, list):
        return [text for each in value for text in readers_of(each)]
    if isinstance(value, dict):
        if value.keys() == {"value", "unit", "reader"}:
            return [] if value["value"] is None else [value["reader"]]
        return [text for each in value.values() for text in readers_of(each)]
    return []


def printed(outcome, system, capsys):
    show_visit(outcome, system)
    return " ".join(capsys.readouterr().out.split())


@OUTCOMES
@SYSTEMS
def test_json_holds_every_figure_of_the_rows_and_no_other(outcome, system):
    rows = figures_of(visit_table(outcome(), system))
    assert len(rows) > 50
    assert sorted(readers_of(json.loads(visit_json(outcome(), system)))) == sorted(rows)


@OUTCOMES
@SYSTEMS
def test_the_page_shows_the_figures_of_its_tables(outcome, system):
    table, text = visit_table(outcome(), system), Page(visit_page(outcome(), system)).text
    shown = [
        *(each for row in table.clock.rows for each in (row.depth, row.use, row.of_use, row.wetted, row.volume)),
    ] if table.clock else []  # fmt: skip
    shown += [each for row in table.cups for each in (row.rate, row.du_lq, row.du_lh, row.cu, row.wettest_rate)]
    shown += [each for row in table.cores.stations for each in (row.roots, row.moist, row.missing)]
    shown += [each for row in table.repairs for each in (row.uniformity_repaired, row.driest_quarter)]
    shown += [each for row in table.recovery.rewets for night in row.nights for each in (night.applied, night.left)]
    shown += [each for row in table.recovery.feeds for each in (row.nitrogen, row.water_in)]
    shown += [row.value for row in table.findings.rows if row.value.value is not None]
    missing = [each.text for each in shown if each.text not in text]
    assert missing == []


@OUTCOMES
@SYSTEMS
def test_the_terminal_shows_the_same(outcome, system, capsys):
    table, text = visit_table(outcome(), system), printed(outcome(), system, capsys)
    for row in table.clock.rows if table.clock else ():
        assert f"{row.terminal} {row.area} {row.runs} {row.minutes.number} {row.depth.text} {row.use.text}" in text
    for row in table.repairs:
        assert f"{row.evenness} {row.minutes} {row.water} {row.driest_quarter.text}" in text
    for row in table.recovery.rewets:
        for night in row.nights:
            assert f"{night.night} {night.cycles} {night.soak_minutes or '·'} {night.applied.text}" in text
    if table.proof:
        assert table.proof.statement in text


def test_the_terminal_says_first_what_the_clock_delivers(capsys):
    text = printed(first_outcome(), None, capsys)
    heads = (
        "What the clock delivers", "Why it fails", "What enters the plan", "What to mend", "What the repairs are worth",
        "What each station waters", "Rewetting, night by night", "How it comes back", "By hand", "To heed",
    )  # fmt: skip
    places = [text.index(head) for head in heads]
    assert places == sorted(places)


def test_the_terminal_obeys_no_text(capsys):
    text = printed(hostile_outcome("[bold]\x1b[31mlawn[/nothing]"), None, capsys)
    assert "\x1b" not in text
    assert "[bold] [31mlawn[/nothing]" in text


def test_the_terminal_of_a_bare_visit_is_two_lines(capsys):
    show_visit(empty_outcome(), None)
    assert capsys.readouterr().out.splitlines() == [
        "Thistledown Grange, visit of Tue Jul 14, 2026",
        "Only the day was written down: nothing was seen, measured or judged.",
    ]
