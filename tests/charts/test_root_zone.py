"""The picture of a root zone, drawn from two days made by hand.

Station 1 holds 25.4 mm. On Monday, observed, it begins with 10 mm missing, gets 2 mm of rain and uses 5 mm: 13 mm are
missing at dusk. In the night it gets 12.7 mm, on Tuesday, forecast, it uses 4.7 mm: 13 − 12.7 + 4.7 = 5 mm are missing.
"""

import re
from dataclasses import replace
from datetime import date, timedelta
from xml.etree import ElementTree

import pytest

from etsched.charts.root_zone import root_zone
from etsched.errors import PlanRefused
from etsched.model.plan import BooksBefore, DayWeather, DepletionRange, StationDay
from tests.charts.drawn import check_alone, check_same_bytes
from tests.charts.made_days import MONDAY, SVG, box, marks, panel, texts
from tests.reports.sample_week import renamed, sample_week

TUESDAY = MONDAY + timedelta(days=1)
HOSTILE = "</title><script>alert('&\"')</script>\x00\ufffe\x1b[2J]]>"


def drawn(plan=None, visits=(), system="metric"):
    svg = root_zone(plan or sample_week("metric"), 1, system, visits)
    return ElementTree.fromstring(svg)  # noqa: S314 - our own


def ranged(low_mm=2.0, high_mm=9.0):
    return replace(sample_week("metric"), depletion_ranges=(DepletionRange(1, TUESDAY, low_mm, high_mm),))


def with_sunday():
    """The same week after a Sunday whose books are known: 8 − 3 + 5 = 10 mm missing at dusk."""
    sunday = MONDAY - timedelta(days=1)
    sky = DayWeather(sunday, False, 15.0, 28.0, 5.0, 0.0, ())
    line = StationDay(1, sunday, 8.0, 3.0, 0.0, 5.0, 0.0, 0.0, 10.0, 12.0, 25.4)
    return replace(sample_week("metric"), before=BooksBefore((sky,), (line,)))


def points(path):
    return [tuple(float(n) for n in pair.split()) for pair in re.findall(r"[\d.]+ [\d.]+", path.get("d", ""))]


def line_of(svg, name):
    (found,) = [part for part in panel(svg, "root-zone").iter(f"{SVG}path") if part.get("data-line") == name]
    return found


def full_px(svg):
    """Height on the sheet at which nothing is missing."""
    (zero,) = [t for t in panel(svg, "root-zone").iter(f"{SVG}text") if t.text in {"0", "0.0"}]
    return float(zero.get("y", "nan"))


def missing_mm(svg, points_px):
    """Points of a panel of 260 px for 25.4 mm as (x, mm missing)."""
    return [(x, pytest.approx((y - full_px(svg)) * 25.4 / 260.0, abs=0.002)) for x, y in points_px]


def test_the_level_falls_with_use_and_rises_with_the_nights_water():
    # Two days share 778 px from 70 px on. At Monday's edge nothing runs; at Tuesday's 13 − 12.7 leaves 0.3 mm.
    svg = drawn()
    assert missing_mm(svg, points(line_of(svg, "level"))) == [
        (70.0, 10.0), (70.0, 10.0), (459.0, 13.0), (459.0, 13.0), (459.0, 0.3), (848.0, 5.0),
    ]  # fmt: skip


@pytest.mark.parametrize(("system", "ticks"), [("us", [f"0.{n}" for n in range(10)] + ["1.0"]), ("metric", None)])
def test_the_panel_reaches_from_full_to_empty(system, ticks):
    # 25.4 mm are an inch, in ten steps of 26 px; in mm the last of the ticks 0, 5 … 25 lies 250/254 of the way down.
    svg = drawn(system=system)
    written = {
        t.text: float(t.get("y", "nan"))
        for t in panel(svg, "root-zone").iter(f"{SVG}text")
        if t.get("text-anchor") == "end"
    }
    assert list(written) == (ticks or ["0", "5", "10", "15", "20", "25"])
    last = list(written)[-1]
    assert written[last] - full_px(svg) == pytest.approx(260.0 * (1.0 if system == "us" else 25.0 / 25.4), abs=0.01)
    for at in (0, 1):
        water = list(marks(svg, "root-zone").values())[at]
        assert max(y for _, y in points(water)) - full_px(svg) == pytest.approx(260.0, abs=0.01)


def test_the_allowable_depletion_is_a_line_by_day():
    svg = drawn()
    heights = [float(y) for y in re.findall(r"M[\d.]+ ([\d.]+)H", line_of(svg, "allowable").get("d", ""))]
    assert missing_mm(svg, [(at, y) for at, y in enumerate(heights)]) == [(0, 12.0), (1, 12.0)]
    assert line_of(svg, "allowable").get("stroke-dasharray")
    assert not line_of(svg, "level").get("stroke-dasharray")


def test_rain_and_irrigation_hang_on_one_scale():
    # 12.7 mm need the ticks 0, 5, 10, 15 on 73 px (90 less the room for figures): 73/15 px a mm.
    svg = drawn()
    rain, irrigation = marks(svg, "rain"), marks(svg, "irrigation")
    assert (list(rain), list(irrigation)) == ([0], [1])
    assert box(rain[0])[3] == pytest.approx(2.0 * 73 / 15, abs=0.01)
    assert box(irrigation[1])[3] == pytest.approx(12.7 * 73 / 15, abs=0.01)


def test_a_dry_week_says_so():
    lines = tuple(replace(line, rain_mm=0.0, irrigation_mm=0.0) for line in sample_week("metric").books)
    svg = drawn(replace(sample_week("metric"), books=lines))
    assert "no rain" in texts(panel(svg, "rain"))
    assert "no irrigation" in texts(panel(svg, "irrigation"))


def test_forecast_days_have_another_texture():
    svg = drawn()
    observed, forecast = marks(svg, "root-zone").values()
    assert observed.get("fill", "").startswith("#")
    assert forecast.get("fill") == "url(#day-hatch-water)"
    assert [marks(svg, name).popitem()[1].get("fill") for name in ("rain", "irrigation")] == [
        "#1b5a86", "url(#day-hatch-leaf)",
    ]  # fmt: skip
    (flag,) = [part for part in svg.iter(f"{SVG}text") if part.get("data-forecast")]
    assert (flag.text, flag.get("x")) == ("forecast from Tue Jul 14 →", "459")


def test_the_band_lies_between_the_ends_of_the_range():
    svg = drawn(ranged())
    (band,) = marks(svg, "root-zone", "data-range").values()
    assert missing_mm(svg, points(band)) == [
        (459.0, 13.0), (459.0, 0.3), (848.0, 9.0), (848.0, 2.0), (459.0, 0.3), (459.0, 13.0),
    ]  # fmt: skip
    # What is surely there reaches up to the dry end only.
    assert missing_mm(svg, points(list(marks(svg, "root-zone").values())[1])[:3])[-1] == (848.0, 9.0)
    assert "likely range by the weather, if the plan runs" in texts(panel(svg, "legend"))


def test_a_band_goes_on_where_it_ended_and_no_water_lifts_it_over_full():
    both = (*ranged().depletion_ranges, DepletionRange(1, MONDAY, 11.0, 15.0))
    svg = drawn(replace(ranged(), depletion_ranges=both))
    (band,) = marks(svg, "root-zone", "data-range").values()
    # 15 − 12.7 = 2.3 mm at the dry end; at the wet end 12.7 mm are more than the 11 that are missing.
    assert missing_mm(svg, points(band)) == [
        (70.0, 10.0), (70.0, 10.0), (459.0, 15.0), (459.0, 15.0), (459.0, 2.3), (848.0, 9.0),
        (848.0, 2.0), (459.0, 0.0), (459.0, 11.0), (459.0, 11.0), (70.0, 10.0), (70.0, 10.0),
    ]  # fmt: skip


def test_a_range_that_shows_one_figure_twice_is_none():
    svg = drawn(ranged(4.99, 5.01))
    assert not marks(svg, "root-zone", "data-range")
    assert "at dusk" not in texts(panel(svg, "figures"))


def test_days_before_are_drawn_where_their_books_are_known():
    svg = drawn(with_sunday())
    assert list(marks(svg, "root-zone")) == [-1, 0, 1]
    level = missing_mm(svg, points(line_of(svg, "level")))
    assert [mm for _, mm in level][:3] == [8.0, 5.0, 10.0]
    assert texts(panel(svg, "days"))[:3] == ["Sun", "12", "Jul"]


def test_visits_are_marked_and_those_elsewhere_are_told():
    svg = drawn(visits=(TUESDAY, date(2026, 7, 1)))
    (pennant,) = marks(svg, "visits").items()
    assert pennant[0] == 1
    assert pennant[1].get("transform", "").startswith("translate(653.5 ")  # 459 + 389/2
    assert "Visited: Wed Jul 1, Tue Jul 14." in texts(panel(svg, "figures"))
    assert "Visited on Wed Jul 1, which the picture does not show." in (svg[1].text or "")
    assert "visit" in texts(panel(svg, "legend"))
    assert not [part for part in drawn().iter(f"{SVG}g") if part.get("data-panel") == "visits"]


def test_the_table_under_it_holds_the_books():
    svg = drawn(ranged())
    cells = texts(panel(svg, "figures"))
    assert cells[:2] == [
        "Missing from full at dawn and at dusk, and what moved it (mm).", "From full to empty: 25.4 mm.",
    ]  # fmt: skip
    columns = {tuple(cells[at : at + 4]) for at in range(2, len(cells), 4)}
    assert columns == {
        ("", "day", "Mon 13", "Tue 14"),
        ("", "dawn", "10.0", "13.0"),
        ("", "rain", "2.0", "0.0"),
        ("", "watered", "0.0", "12.7"),
        ("", "used", "5.0", "4.7"),
        ("", "dusk", "13.0", "5.0"),
        ("likely", "at dusk", "", "2.0–9.0"),
        ("allow-", "able", "12.0", "12.0"),
    }


def test_every_figure_of_the_panels_stands_in_the_table():
    svg = drawn(ranged())
    table = " ".join(texts(panel(svg, "figures"))).split()
    shown = [
        text
        for name in ("rain", "irrigation")
        for part in panel(svg, name).iter(f"{SVG}g")
        if "figures" in part.get("class", "")
        for text in texts(part)
    ]
    assert sorted(set(shown)) == ["12.7", "2.0"]
    assert set(shown) <= set(table)
    assert texts(panel(svg, "root-zone"))[0] == "Missing from full (mm): full at 0, empty at 25.4"


def test_water_that_passed_the_roots_has_a_column_where_there_is_any():
    lines = tuple(replace(line, passed_mm=1.5) for line in sample_week("metric").books)
    assert "roots" not in texts(panel(drawn(), "figures"))
    assert "roots" in texts(panel(drawn(replace(sample_week("metric"), books=lines)), "figures"))


def test_no_text_of_the_table_runs_into_the_next():
    wide = tuple(
        replace(line, start_mm=123.4, irrigation_mm=111.1, rain_mm=111.1, et_mm=111.1, passed_mm=111.1, end_mm=123.4,
                capacity_mm=300.0, allowable_mm=150.0)
        for line in sample_week("metric").books
    )  # fmt: skip
    plan = replace(sample_week("metric"), books=wide, depletion_ranges=(DepletionRange(1, TUESDAY, 111.1, 133.3),))
    part = panel(drawn(plan), "figures")
    last = [t for t in part.iter(f"{SVG}text") if t.text and t.get("text-anchor") == "end"]
    size = 20.0 if [g for g in part.iter(f"{SVG}g") if g.get("class") == "note"] else 23.0
    by_line: dict[str, float] = {}
    for text in last:
        right = float(text.get("x", "nan"))
        # A digit is 0.56 of the type size wide in common sans-serif faces.
        assert right - 0.56 * size * len(text.text or "") > by_line.get(text.get("y", ""), 0.0)
        assert right <= 848.01
        by_line[text.get("y", "")] = right


def test_words_tell_what_is_seen():
    svg = drawn(ranged(), visits=(MONDAY,))
    assert svg.get("role") == "img"
    assert (svg[0].tag, svg[0].text) == (
        f"{SVG}title", "Larkmoor Green: water in the root zone of station 1, Front lawn",
    )  # fmt: skip
    assert svg[1].tag == f"{SVG}desc"
    assert svg[1].text == (
        "Mon Jul 13–Tue Jul 14: 2 days, 1 observed, 1 forecast. "
        "From full to empty the root zone holds 25.4 mm. "
        "Driest at dusk of Mon Jul 13: 13.0 mm missing, 12.0 mm allowable. "
        "Past its allowable depletion on Mon Jul 13. "
        "Irrigation on 1 day: Tue Jul 14 12.7 mm. "
        "Rain that counts on 1 day: Mon Jul 13 2.0 mm. "
        "A likely range by the weather of what is missing at dusk, if the plan runs, for 1 day, "
        "widest 2.0–9.0 mm on Tue Jul 14. "
        "Visited on Mon Jul 13."
    )


def test_a_pointer_on_a_day_is_told_all_of_it():
    told = [each.text for each in panel(drawn(ranged()), "told").iter(f"{SVG}title")]
    assert told[1] == (
        "Tue Jul 14, forecast; missing from full 13.0 mm at dawn, 5.0 mm at dusk, likely 2.0–9.0 mm; "
        "allowable 12.0 mm; rain that counts 0.0 mm; irrigation that counts 12.7 mm; used 4.7 mm; "
        "passed the roots 0.0 mm"
    )


def test_hostile_words_are_shown_and_never_obeyed():
    def chart(text):
        plan = renamed(sample_week("metric"), text)
        return drawn(replace(plan, attributions=(text,)))

    svg = chart(HOSTILE)
    assert [part.tag for part in svg.iter()] == [part.tag for part in chart("x" * 40).iter()]
    shown = "</title><script>alert('&\"')</script> [2J]]>"
    assert svg[0].text == f"{shown}: water in the root zone of station 1, {shown}"
    assert texts(svg)[-1] == shown


def test_a_station_without_books_or_not_there_is_refused():
    with pytest.raises(PlanRefused, match="station 4 hold no day"):
        root_zone(sample_week(), 4)
    with pytest.raises(PlanRefused, match="no station at terminal 99"):
        root_zone(sample_week(), 99)


def test_it_stands_alone():
    svg = root_zone(ranged(), 1, "us", (MONDAY,))
    check_alone(svg)


def test_the_same_plan_gives_the_same_bytes_whatever_the_hash_seed():
    code = (
        "from tests.charts.test_root_zone import MONDAY, ranged; from etsched.charts.root_zone import root_zone; "
        "import sys; sys.stdout.buffer.write(root_zone(ranged(), 1, 'us', (MONDAY,)).encode())"
    )
    check_same_bytes(code)
