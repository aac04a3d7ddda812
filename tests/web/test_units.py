"""Readers' figures in the units asked for, beside numbers that no unit changes; no parameter is passed over."""

from datetime import date

import pytest

from etsched.model.plan import WaterState
from etsched.model.service import KeptBalance, Supposing
from etsched.stores import water
from etsched.usecases.properties import put_site
from tests.web.conftest import EVENING
from tests.web.routes import reached

AT = "/v1/sites/grange/"
WITH_UNITS = ["tonight", "week", "why/7", "balance", "weather", "findings"]
STATE = WaterState(date(2026, 7, 13), {4: (25.4, 2.0), 5: (0.0,)}, {4: (203.2, 50.0), 5: (152.4,)})


def in_each(played, path):
    """What is told by default, in US units, in metric ones."""
    return [played.ask("GET", AT + path + query).json() for query in ("", "?units=us", "?units=metric")]


def without(told, *names):
    """What is left without some fields, however deep they are."""
    if isinstance(told, dict):
        return {name: without(value, *names) for name, value in told.items() if name not in names}
    return [without(each, *names) for each in told] if isinstance(told, list) else told


def test_the_balance_is_told_in_both(played):
    """By hand: an inch is 25.4 mm; 2 mm are 0.0787 in, 50 mm 1.9685 in."""
    with played.service.database.writing() as writing:
        water.put_balance(writing, KeptBalance("grange", Supposing.PLANNED, STATE, EVENING))
    default, us, metric = in_each(played, "balance")
    assert default == us
    assert (us["units"], metric["units"], us["reported"]) == ("us", "metric", None)
    assert us["planned"]["deficit"] == {"4": ["1.00 in", "0.08 in"], "5": ["0.00 in"]}
    assert metric["planned"]["deficit"] == {"4": ["25.4 mm", "2.0 mm"], "5": ["0.0 mm"]}
    assert us["planned"]["thickness"] == {"4": ["8.00 in", "1.97 in"], "5": ["6.00 in"]}
    assert metric["planned"]["thickness"] == {"4": ["203.2 mm", "50.0 mm"], "5": ["152.4 mm"]}
    for told in (us, metric):
        assert told["planned"]["deficit_mm"] == {"4": [25.4, 2.0], "5": [0.0]}
        assert told["planned"]["thickness_mm"] == {"4": [203.2, 50.0], "5": [152.4]}


def test_the_weather_is_told_in_both(shared):
    """By hand from the numbers beside: °F = 1.8 °C + 32, a mile an hour is 0.44704 m/s."""
    default, us, metric = in_each(shared, "weather")
    assert default == us
    assert (us["units"], metric["units"], us["weather"]) == ("us", "metric", metric["weather"])
    daily = us["weather"]["daily"]
    assert us["days"]["day"] == metric["days"]["day"] == [moment[:10] for moment in daily["index"]]
    assert len(daily["index"]) > 14
    for number, tmax_c in enumerate(daily["columns"]["tmax_c"]):
        assert us["days"]["tmax"][number] == f"{1.8 * tmax_c + 32:.0f} °F"
        assert metric["days"]["tmax"][number] == f"{tmax_c:.1f} °C"
    for number, wind_m_s in enumerate(daily["columns"]["wind_m_s"]):
        told = None if wind_m_s is None else f"{wind_m_s / 0.44704:.1f} mph"
        assert us["days"]["wind"][number] == told
    assert {len(column) for column in us["days"].values()} == {len(daily["index"])}
    assert "is_forecast" not in us["days"]


def test_the_findings_are_told_in_both(played, root):
    """By hand: the cores of station 5 reach 203.2 mm, 8 in; a gallon is 3.785411784 L."""
    body = {"document": (root / "demo" / "visit-1.toml").read_text("utf-8")}
    made = played.ask("POST", "/v1/sites/grange/visits", json=body).json()
    default, us, metric = in_each(played, "findings")
    assert default == us
    assert (us["units"], metric["units"]) == ("us", "metric")
    assert us != metric
    read = ("units", "reader", "reader_range")
    assert without(us, *read) == without(metric, *read)
    of_visit = in_each(played, f"visits/{made['visit']}")
    assert made == of_visit[0]
    for told, single in zip((default, us, metric), of_visit, strict=True):
        assert (told["units"], told["findings"][0]["findings"]) == (single["units"], single["findings"])

    def known(told, field):
        found = told["findings"][0]["findings"]["findings"]
        return next(each["known"] for each in found if (each["terminal"], each["field"]) == (5, field))

    assert known(us, "root_depth")["value"] == 203.2
    assert [known(told, "root_depth")["reader"] for told in (us, metric)] == ["8.00 in", "203.2 mm"]
    flow_l_min = known(us, "flow")["value"]
    assert known(us, "flow")["reader"] == f"{flow_l_min / 3.785411784:.1f} gpm"
    assert known(metric, "flow")["reader"] == f"{flow_l_min:.1f} L/min"
    assert known(us, "flow")["reader_range"] is None
    rate = known(us, "precip_rate")
    assert rate["reader_range"] == f"{rate['low'] / 25.4:.2f}–{rate['high'] / 25.4:.2f} in/h"
    assert known(metric, "precip_rate")["reader_range"] == f"{rate['low']:.1f}–{rate['high']:.1f} mm/h"


def test_by_default_the_units_are_the_sites_own(played, root):
    document = (root / "demo" / "site.toml").read_text("utf-8")
    assert document.count('\nunits = "us"\n') == 1
    put_site(played.service, "grange", document.replace('\nunits = "us"\n', '\nunits = "metric"\n'), "test")
    for path in ("balance", "weather", "findings"):
        default, us, metric = in_each(played, path)
        assert (default["units"], us["units"]) == ("metric", "us")
        assert default == metric


@pytest.mark.parametrize("path", WITH_UNITS)
@pytest.mark.parametrize("value", ["roods", "US", "", "us,metric"])
def test_units_that_are_none_are_a_problem(shared, path, value):
    answer = shared.ask("GET", f"{AT}{path}?units={value}")
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/invalid")
    assert [fault["pointer"] for fault in answer.json()["errors"]] == ["/query/units"]


def test_what_an_address_does_not_take_is_refused_everywhere(shared):
    """Each route with a parameter that nobody takes, and with units, which some take."""
    takes = set()
    for each in reached(shared.client.app):
        if not each.scopes:
            continue
        answer = shared.ask(each.method, each.at("grange") + "?unitz=us", json=each.body)
        assert (answer.status_code, answer.json()["type"]) == (422, "/problems/invalid"), each
        assert [fault["pointer"] for fault in answer.json()["errors"]] == ["/query/unitz"], each
        told = shared.ask(each.method, each.at("grange") + "?units=roods", json=each.body)
        assert [fault["pointer"] for fault in told.json()["errors"]] == ["/query/units"], each
        if "does not take" not in told.json()["errors"][0]["detail"]:
            takes.add(each.path.removeprefix("/v1/sites/{site}/"))
    assert takes == {*WITH_UNITS[:2], "why/{terminal}", *WITH_UNITS[3:], "heat-check", "visits/{visit}"}


def test_the_refusal_names_what_it_takes_and_shows_nothing_to_strangers(shared):
    (fault,) = shared.ask("GET", f"{AT}findings?unit=us").json()["errors"]
    assert fault == {
        "pointer": "/query/unit",
        "detail": "this address does not take it; it takes after and most and units",
    }
    (fault,) = shared.ask("GET", f"{AT}controller?units=us").json()["errors"]
    assert fault["detail"] == "this address does not take it; it takes none"
    assert shared.ask("GET", f"{AT}findings?unit=us", key="").status_code == 401
    assert shared.ask("GET", f"{AT}findings?unit=us", key="foreign").status_code == 404
    many = "&".join(f"n{number}=1" for number in range(200))
    assert len(shared.ask("GET", f"{AT}controller?{many}").json()["errors"]) == 20
    # A calendar program or a probe may add what it likes.
    assert shared.client.get("/ready?now=1").status_code == 200
