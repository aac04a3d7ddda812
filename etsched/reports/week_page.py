"""The week as one printable page: first what to key in, below what it rests on. No script, no links."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from etsched.model.plan import WeekPlan
from etsched.reports.strip import night_strip
from etsched.tables.assumptions import assumption_groups, first_to_measure
from etsched.tables.figure import plain, reader_system
from etsched.tables.light_runs import LIGHT_TITLE, light_table
from etsched.tables.nights import night_order
from etsched.tables.rests import hold_table
from etsched.tables.savings import SAVINGS_TITLE, SAVINGS_WORDS, savings_table
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
from etsched.tables.volume import price_words
from etsched.tables.weather import weather_table
from etsched.tables.week import MARKS, WeekTable, week_table
from etsched.units import UnitSystem

# What fits side by side on an upright sheet beside the station's own columns.
_UPRIGHT_NIGHTS = 3
# So few stations leave each row the height that initials like; beyond, a sheet on its side needs fine print, and so
# do more than this many nights.
_FEW_STATIONS = 20
_COARSE_NIGHTS = 5

NOT_TO_KEY = "Do not key this table into a clock of programs: key in the paper for its door."


def week_page(plan: WeekPlan, system: UnitSystem | None = None) -> str:
    """Write the page; every text of a person is escaped, so a hostile name is shown and never obeyed."""
    return page_environment().get_template("week.html.j2").render(week_values(plan, system))


@cache
def page_environment() -> Environment:
    """Give what sets every page: templates of this package, escaping on, a missing value an error."""
    return Environment(
        loader=PackageLoader("etsched.reports", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def week_values(plan: WeekPlan, system: UnitSystem | None = None) -> dict[str, Any]:
    """Give what the week's templates are set from."""
    system = reader_system(plan, system)
    table = week_table(plan, system)
    watering = [index for index, night in enumerate(table.nights) if night.minutes]
    orders, guesses = night_order(plan, system), assumption_groups(plan, system)
    return {
        "table": table,
        "watering": watering,
        "idle": [night.label for night in table.nights if not night.minutes],
        "marks": _marks_used(table),
        "sheet": "portrait" if len(watering) <= _UPRIGHT_NIGHTS else "landscape",
        "look": _look(len(table.rows), len(watering)),
        "plans": any(row.plan_number for row in table.rows),
        "totals": totals(plan, system),
        "nights": [(orders[index], night_strip(plan, plan.nights[index], system)) for index in watering],
        "light": light_table(plan, system),
        "light_title": LIGHT_TITLE,
        "weather": weather_table(plan, system),
        "shortfalls": shortfall_table(plan),
        "shortfalls_title": SHORTFALLS_TITLE,
        "shortfalls_words": SHORTFALLS_WORDS,
        "price_words": price_words(plan, system),
        "savings": savings_table(plan, system),
        "savings_title": SAVINGS_TITLE,
        "savings_words": SAVINGS_WORDS,
        "guesses": guesses,
        "to_measure": first_to_measure(guesses),
        "credits": [plain(text).removesuffix(".") for text in plan.attributions],
        "remedies": remedy_table(plan, system),
        "remedies_title": REMEDIES_TITLE,
        "remedies_words": remedies_words(plan),
        "bound": bound_text(plan, system),
        "holds": hold_table(plan),
        "notes": [plain(note) for note in plan.notes],
        "zone": plan.site.place.zone.key,
        "not_to_key": "" if plan.site.controller is None else NOT_TO_KEY,
    }


def _look(stations: int, nights: int) -> str:
    """Choose the print's classes so that forty stations fit the first sheet and few stations get room."""
    few, lying = stations <= _FEW_STATIONS, nights > _UPRIGHT_NIGHTS
    fine = lying and (nights > _COARSE_NIGHTS or not few)
    return " ".join(name for name, holds in (("few", few), ("landscape", lying), ("fine", fine)) if holds)


def _marks_used(table: WeekTable) -> list[tuple[str, str]]:
    used = {sign for row in table.rows for sign in row.mark}
    return [(sign, meaning) for sign, meaning in MARKS.items() if sign in used]
