import math
from itertools import pairwise

import pytest

from etsched.charts.fortnight import fortnight_svg
from etsched.charts.fortnight_grades import GRADE_MARKS
from etsched.errors import PlanRefused
from etsched.planning.weather_quality import Grade
from tests.charts.drawn import check_alone, check_same_bytes
from tests.charts.made_days import SVG, blade, box, day, drawn, marks, panel, texts

HOSTILE = "</title><script>alert('&\"')</script>\x00\ufffe\x1b[2J]]>"


def test_a_warmer_day_stands_higher_by_its_degrees():
    # 10 to 30 °C take the panel's 151 px in four steps of 5 °C, so that a degree is 7.55 px.
    svg = drawn(day(0), day(1, tmin_c=15.0, tmax_c=25.0))
    bars = marks(svg, "temperature")
    (_, top, _, height), (_, cool_top, _, cool_height) = box(bars[0]), box(bars[1])
    assert height == 151.0
    assert cool_height == 75.5
    assert cool_top - top == 37.75
    written = {line.text: float(line.get("y", "nan")) for line in panel(svg, "temperature").iter(f"{SVG}text")}
    assert (written["30"], written["10"]) == (top, top + height)


def test_rain_hangs_as_long_as_it_is_deep():
    # 20 mm take the panel's 98 px in four steps of 5 mm.
    bars = marks(drawn(day(0, rain_mm=20.0), day(1, rain_mm=10.0), day(2)), "rain")
    assert set(bars) == {0, 1}
    assert [box(bars[at])[3] for at in (0, 1)] == [98.0, 49.0]
    assert box(bars[0])[1] == box(bars[1])[1]


def test_a_blade_is_as_high_as_its_et():
    # 6 mm take the panel's 148 px in six steps of 1 mm; two days share 778 px from 70 px on.
    blades = marks(drawn(day(0, eto_mm=6.0), day(1, eto_mm=3.0)), "eto")
    assert blade(blades[0]) == (148.0, 264.5)
    assert blade(blades[1]) == (74.0, 653.5)


def test_a_likely_range_reaches_from_its_low_to_its_high():
    svg = drawn(
        day(0, eto_mm=4.0, eto_low_mm=3.0, eto_high_mm=6.0, rain_mm=10.0, rain_low_mm=0.0, rain_high_mm=20.0),
        day(1, eto_mm=4.0, eto_low_mm=4.0, eto_high_mm=4.0),
        day(2, eto_low_mm=math.nan, eto_high_mm=6.0),
    )
    blades, boxes = marks(svg, "eto"), marks(svg, "eto", "data-range")
    assert set(boxes) == {0}
    left, top, width, height = box(boxes[0])
    assert height == 74.0  # 3 mm of 6 on 148 px
    ground = top + 148.0
    assert blade(blades[0])[0] == pytest.approx(ground - (top + 148.0 / 3), abs=0.01)
    _, bar_top, bar_width, bar_height = box(marks(svg, "rain")[0])
    rain_left, rain_top, rain_width, rain_height = box(marks(svg, "rain", "data-range")[0])
    assert (bar_height, rain_height, rain_top) == (49.0, 98.0, bar_top)
    assert rain_width > bar_width  # it can be seen behind the bar
    assert (left, width) == (rain_left, rain_width)
    assert "Reference ET (mm), box: likely range" in texts(panel(svg, "eto"))
    assert "Reference ET (mm)" in texts(panel(drawn(day()), "eto"))


def test_unknown_temperatures_leave_a_gap():
    svg = drawn(day(0), day(1, tmin_c=math.nan, tmax_c=math.nan, standing_in=True), day(2), day(3, tmin_c=math.nan))
    assert set(marks(svg, "temperature")) == {0, 2}
    assert set(marks(svg, "eto")) == {0, 1, 2, 3}
    assert "nan" not in "".join(text for part in svg.iter() for text in part.attrib.values())


def test_nothing_to_draw_is_said():
    svg = drawn(day(0, tmin_c=math.nan, tmax_c=math.nan))
    assert "no temperatures" in texts(panel(svg, "temperature"))
    assert "no rain" in texts(panel(svg, "rain"))
    assert "no rain" not in texts(panel(drawn(day(0, rain_mm=1.0)), "rain"))
    with pytest.raises(PlanRefused, match="no day"):
        drawn()


@pytest.mark.parametrize("name", ["temperature", "rain", "eto"])
def test_observed_forecast_and_standing_in_differ_without_colour(name):
    svg = drawn(
        day(0, rain_mm=5.0), day(1, rain_mm=5.0, forecast=True), day(2, rain_mm=5.0, forecast=True, standing_in=True)
    )
    observed, forecast, standing_in = marks(svg, name).values()
    assert observed.get("fill", "").startswith("#")
    hatch = forecast.get("fill", "").removeprefix("url(#").removesuffix(")")
    (pattern,) = [part for part in svg.iter(f"{SVG}pattern") if part.get("id") == hatch]
    ground, line = pattern
    assert ground.get("fill") == "#fff"
    assert line.get("fill") == observed.get("fill")
    assert (standing_in.get("fill"), bool(standing_in.get("stroke-dasharray"))) == ("#fff", True)
    assert [bool(each.get("stroke-dasharray")) for each in (observed, forecast)] == [False, False]


def test_the_forecast_begins_at_a_line():
    def lines(svg):
        return {
            part.get("d", "").split()[0] for part in svg.iter(f"{SVG}path") if part.get("stroke-dasharray") == "7 4"
        }

    half = drawn(day(0), day(1), day(2, forecast=True), day(3, forecast=True))
    assert lines(half) == {"M459"}  # 70 + 778 × 2/4
    (flag,) = [part for part in half.iter(f"{SVG}text") if part.get("data-forecast")]
    assert (flag.text, flag.get("x")) == ("forecast from Wed Jul 15 →", "459")
    assert lines(drawn(day(0), day(1))) == lines(drawn(day(0, forecast=True))) == set()
    assert not [line for line in texts(drawn(day(0))) if "forecast" in line]


def test_grades_have_each_their_shape_and_letter():
    assert set(GRADE_MARKS) == {*Grade, ""}
    assert len({mark.shape for mark in GRADE_MARKS.values()}) == 5
    svg = drawn(*(day(at, grade=grade) for at, grade in enumerate(GRADE_MARKS)))
    assert texts(panel(svg, "grades")) == ["Grade of the weather", "S", "F", "W", "U", "–"]
    assert [mark.get("d") for mark in marks(svg, "grades").values()] == [m.shape for m in GRADE_MARKS.values()]


def test_the_legend_tells_what_is_shown_and_no_more():
    assert texts(panel(drawn(day(0, grade="weak")), "legend")) == ["observed", "W weak"]
    svg = drawn(day(0), day(1, forecast=True, standing_in=True, grade=""))
    assert texts(panel(svg, "legend")) == [
        "observed",
        "no usable weather: recent mean ET stands in",
        "S sound",
        "– not checked",
    ]


def test_days_are_named_and_a_new_month_is():
    svg = drawn(*(day(at) for at in range(17, 21)))
    assert texts(panel(svg, "days")) == ["Thu", "30", "Jul", "Fri", "31", "Sat", "1", "Aug", "Sun", "2"]


def test_units_are_those_of_the_reader():
    svg = fortnight_svg((day(0, tmax_c=40.0, rain_mm=25.4),), "Larkmoor Green", "us", ())
    for text in ("(°F)", "Rain (in)", "Reference ET (in)", ">104<", ">50<", ">1.00<", ">0.20<"):
        assert text in svg


@pytest.mark.parametrize("count", [1, 2, 7, 14, 31])
def test_any_number_of_days_fits_side_by_side(count):
    svg = drawn(*(day(at, rain_mm=1.0, eto_low_mm=4.0, eto_high_mm=6.0, forecast=at > 5) for at in range(count)))
    for name, of in (("temperature", "data-day"), ("rain", "data-day"), ("rain", "data-range"), ("eto", "data-range")):
        found = [box(mark) for mark in marks(svg, name, of).values()]
        assert len(found) == (0 if (name, of) == ("rain", "data-range") else count)
        assert all(left >= 70.0 and left + width <= 848.0 for left, _, width, _ in found)
        assert all(left + width < next_left for (left, _, width, _), (next_left, *_) in pairwise(found))
    height = float(svg.get("viewBox", "").split()[3])
    assert all(0.0 < float(line.get("y", "nan")) < height for line in svg.iter(f"{SVG}text"))


def test_a_small_screen_skips_days_that_have_no_room_and_a_desk_none():
    def kept(count):
        named = panel(drawn(*(day(at) for at in range(count))), "days")
        numbers = [line for line in named.iter(f"{SVG}text") if line.get("font-weight") == "bold"]
        return len(numbers), len([line for line in numbers if line.get("class") != "desk"])

    assert kept(14) == (14, 14)
    assert kept(31) == (31, 16)


def test_words_tell_what_is_seen():
    svg = drawn(
        day(0, tmin_c=12.0, rain_mm=4.0, eto_low_mm=5.0, eto_high_mm=5.0),
        day(1, tmax_c=33.0, eto_mm=6.5, rain_mm=2.5, eto_low_mm=6.0, eto_high_mm=7.2, grade="filled"),
        day(2, tmin_c=math.nan, tmax_c=math.nan, eto_mm=4.0, grade="unfit", standing_in=True),
        day(3, forecast=True, rain_low_mm=0.0, rain_high_mm=3.0),
    )
    assert svg.get("role") == "img"
    title, description = svg[0], svg[1]
    assert (title.tag, title.text) == (f"{SVG}title", "Larkmoor Green")
    assert description.tag == f"{SVG}desc"
    assert description.text == (
        "Mon Jul 13–Thu Jul 16: 4 days, 2 observed, 1 forecast, 1 standing in. "
        "Lowest temperature 10.0 °C on Tue Jul 14, highest 33.0 °C on Tue Jul 14. "
        "No temperatures for Wed Jul 15. "
        "Rain on 2 days, 6.5 mm together, most on Mon Jul 13 with 4.0 mm. "
        "A likely range of rain for 1 day, widest 0.0–3.0 mm on Thu Jul 16. "
        "Reference ET 20.5 mm together, least on Wed Jul 15 with 4.0 mm, most on Tue Jul 14 with 6.5 mm. "
        "A likely range of reference ET for 1 day, widest 6.0–7.2 mm on Tue Jul 14. "
        "Grade of the weather: sound Mon Jul 13, Thu Jul 16; filled Tue Jul 14; unfit Wed Jul 15."
    )


def test_a_pointer_on_a_day_is_told_all_of_it():
    svg = drawn(
        day(1, rain_mm=2.5, eto_low_mm=4.0, eto_high_mm=6.0, grade="weak", reasons=("wind not known",),
            filled=("wind taken as 2 m/s",), sources=("rain: rain gauge",))
    )  # fmt: skip
    (told,) = panel(svg, "told").iter(f"{SVG}title")
    assert told.text == (
        "Tue Jul 14, observed; temperature 10.0 °C to 30.0 °C; rain 2.5 mm; reference ET 5.0 mm, likely 4.0–6.0 mm; "
        "grade weak; wind not known; wind taken as 2 m/s; rain: rain gauge"
    )


def test_hostile_words_are_shown_and_never_obeyed():
    def chart(text):
        return drawn(
            day(0, filled=(text,), reasons=(text,), sources=(text,)), title=text, attributions=(text, "Given freely")
        )

    svg = chart(HOSTILE)
    assert [part.tag for part in svg.iter()] == [part.tag for part in chart("x").iter()]
    shown = "</title><script>alert('&\"')</script> [2J]]>"
    assert svg[0].text == shown
    assert texts(svg)[0] == shown
    assert texts(svg)[-2:] == [shown, "Given freely"]
    assert shown in (next(panel(svg, "told").iter(f"{SVG}title")).text or "")


def test_a_long_name_is_cut_and_long_attributions_are_not():
    name, credit = "W" * 300, " ".join(f"word{number}" for number in range(60))
    svg = drawn(day(), title=name, attributions=(credit,))
    lines = [line.text or "" for line in svg.iter(f"{SVG}text") if line.get("class") == "name"]
    assert len(lines) == 3
    assert lines[-1].endswith("W…")
    assert svg[0].text == name
    notes = [line.text or "" for line in svg.iter(f"{SVG}text") if line.get("class") == "note"]
    assert len(notes) > 1
    assert " ".join(notes) == credit


def test_it_stands_alone():
    svg = fortnight_svg((day(0), day(1, forecast=True)), "Larkmoor Green", "metric", ("By a feed.example",))
    check_alone(svg)


def test_the_same_days_give_the_same_bytes_whatever_the_hash_seed():
    code = (
        "from tests.charts.made_days import day; from etsched.charts.fortnight import fortnight_svg; import sys; "
        "days = [day(n, forecast=n > 1, grade=g, rain_mm=n) for n, g in enumerate(('sound', 'weak', '', 'filled'))]; "
        "sys.stdout.buffer.write(fortnight_svg(days, 'Larkmoor', 'us', ('a', 'b')).encode())"
    )
    check_same_bytes(code)
