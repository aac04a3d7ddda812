"""What stands beside canonical numbers that were kept: the same as their readers read them, in the units they ask for.

The numbers stay as they are, and so do sentences, which were written in the units that the site's own readers read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from etsched.quantities import quantity_of
from etsched.reports import encode
from etsched.reports.encode import Json
from etsched.tables.figure import figure, span

if TYPE_CHECKING:
    from etsched.model.service import KeptBalance
    from etsched.units import UnitSystem


def balance_in(kept: KeptBalance, system: UnitSystem) -> Json:
    """Write the water of a morning, by terminal and layer, with its readers' figures."""
    return {
        **encode.water(kept.water),
        "deficit": _depths(kept.water.deficit_mm, system),
        "thickness": _depths(kept.water.thickness_mm, system),
        "closed": encode.utc(kept.at),
    }


def _depths(by_terminal: Mapping[int, Iterable[float]], system: UnitSystem) -> Json:
    return {
        str(terminal): [figure(depth_mm, "mm", system).text for depth_mm in layers]
        for terminal, layers in by_terminal.items()
    }


def findings_in(found: Json, system: UnitSystem) -> Json:
    """Give what a visit established with `reader` beside each number, and `reader_range` where a range is known."""
    return {**found, "findings": [_finding_in(each, system) for each in found["findings"]]}


def _finding_in(finding: Json, system: UnitSystem) -> Json:
    known, suffix = finding["known"], finding["suffix"]
    if known is None or not suffix:
        return finding
    low, high = (figure(known[name], suffix, system) for name in ("low", "high"))
    read = {"reader": figure(known["value"], suffix, system).text, "reader_range": span(low, high) or None}
    return {**finding, "known": {**known, **read}}


def days_in(weather: Json, system: UnitSystem) -> Json:
    """Give the days of a weather's document as their readers read them: a column for each, null for what is missing."""
    daily, read = weather["daily"], {}
    for name in daily["order"]:
        quantity = quantity_of(name)
        if quantity is None or name == "is_forecast":
            continue
        read[name.removesuffix(f"_{quantity.suffix}")] = [
            None if value is None else figure(value, quantity.suffix, system).text for value in daily["columns"][name]
        ]
    return {"day": [moment[:10] for moment in daily["index"]], **read}
