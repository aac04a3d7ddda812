"""The heat check's document: the same figures as the check, and nothing that is no JSON."""

import json
from datetime import date

from etsched.model.heat import HeatSpell
from etsched.planning.heat_check import HeatCase, heat_check
from etsched.planning.heat_table import WeekMinutes
from etsched.reports.heat_json import heat_json
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 14)


def checked():
    made = site(station(1, depletion=known(11.0)), station(2, blocked="the valve never opens"))
    held = WeekMinutes({(1, FIRST): 12.0, (1, date(2026, 7, 16)): 9.0}, "a table")
    return heat_check(HeatCase(made, weather(), FIRST, held, HeatSpell(5.0, FIRST, 3)))


def test_the_document_holds_the_check():
    found = checked()
    document = json.loads(heat_json(found))
    assert document["schema"] == "etsched.heat/1"
    assert document["spell"]["hotter_c"] == 5.0
    assert document["table"] == [
        {"terminal": 1, "serves": "2026-07-14", "minutes": 12.0},
        {"terminal": 1, "serves": "2026-07-16", "minutes": 9.0},
    ]
    first, second = document["stations"]
    assert first["extra_min"] == found.stations[0].extra_min > 0
    assert first["passes_on"] == "2026-07-14"
    assert second["blocked"] == "the valve never opens"
    assert sum(night["extra_min"] for night in document["nights"]) == first["extra_min"]
    assert document["percent_adjust"]["set_pct"] == found.percent.set_pct
    hotter = [day["day"] for day in document["days"] if day["eto_mm"] > day["usual_eto_mm"]]
    assert hotter == ["2026-07-14", "2026-07-15", "2026-07-16"]
    assert all({"words", "source"} <= set(each) for each in document["advice"])


def test_the_same_check_gives_the_same_bytes_and_units_change_words_only():
    assert heat_json(checked()) == heat_json(checked())
    us, metric = (json.loads(heat_json(checked(), system)) for system in ("us", "metric"))
    assert us["spell"]["words"] != metric["spell"]["words"]
    assert us["stations"] == metric["stations"]
