"""Why a station does not water: a reason for every night passed over, and the weather that keeps valves shut."""

from dataclasses import replace
from datetime import date, time, timedelta

from etsched.model.plan import RestKind
from etsched.model.site import Ban, HoldKind, HoldLimits
from etsched.planning.holds import with_weather_holds
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import plan_week
from tests.planning.made import known, site, station, weather

BEGIN = date(2026, 6, 20)
FIRST = date(2026, 7, 1)


def plan(made, **columns):
    return plan_week(made, weather(**columns), FIRST)


def on_day(day, value, usual, days=30):
    """One value on one day of the made weather, the usual one on all others."""
    return [value if BEGIN + timedelta(days=n) == day else usual for n in range(days)]


def test_every_station_runs_or_rests_on_every_night():
    made = site(station(1), station(2, root_depth=known(400.0)), station(3, blocked="wire cut"))
    week = plan(made)
    for served in range(7):
        serves = FIRST + timedelta(days=served)
        runs = [r.terminal for n in week.nights if n.night.serves == serves for r in n.runs if r.cycles]
        rests = [rest.terminal for rest in week.rests if rest.serves == serves]
        assert sorted(runs + rests) == [1, 2, 3]
    assert {rest.kind for rest in week.rests if rest.terminal == 3} == {RestKind.BLOCKED}
    waits = [rest for rest in week.rests if rest.terminal == 2 and rest.kind is RestKind.ENOUGH]
    assert waits
    assert all(rest.peak_mm <= rest.allowable_mm for rest in waits)


def test_a_rest_names_the_day_of_the_next_run():
    week = plan(site(station(1, root_depth=known(400.0))))
    waters = [night.night.serves for night in week.nights if night.runs]
    for rest in week.rests:
        later = [day for day in waters if day > rest.serves]
        assert rest.until == (later[0] if later else None)


def test_a_weekday_without_water_is_told_by_its_name():
    week = plan(site(station(1), water_days={0, 3}))
    told = {rest.opens_on: rest.reason for rest in week.rests if rest.kind is RestKind.DAY}
    # The week's nights open from 30 June, a Tuesday, to 6 July; Thursday is the 2nd and Monday the 6th.
    assert sorted(told) == [date(2026, 6, 30), date(2026, 7, 1), *(date(2026, 7, n) for n in (3, 4, 5))]
    assert told[date(2026, 7, 1)] == "Wednesday is no water day"


def test_rain_of_the_day_before_is_what_lets_a_station_wait():
    # 12 mm on 2 July fill a root zone that lacks about 7 mm, and not the dry soil below it.
    made = site(station(1))
    dry, wet = plan(made), plan(made, rain_mm=on_day(date(2026, 7, 2), 12.0, 0.0))
    ran = {night.night.serves for night in dry.nights if night.runs}
    rained = [rest for rest in wet.rests if rest.kind is RestKind.RAIN]
    assert [rest.serves for rest in rained] == [date(2026, 7, 3)]
    assert date(2026, 7, 3) in ran
    assert rained[0].reason.startswith("the rain of Thu Jul 2 ")


def test_a_full_soil_rests_as_saturated():
    # 60 mm on the evening before fill root zone and layers below, which lack 20 mm at the most.
    week = plan(site(station(1)), rain_mm=on_day(date(2026, 7, 3), 60.0, 0.0))
    assert [rest.serves for rest in week.rests if rest.kind is RestKind.FULL] == [date(2026, 7, 4)]


def test_frost_keeps_valves_shut_for_the_night_before_the_cold_morning():
    week = plan(site(station(1)), tmin_c=on_day(date(2026, 7, 3), 1.0, 16.0))
    frozen = [rest for rest in week.rests if rest.kind is RestKind.FREEZE]
    assert [(rest.opens_on, rest.serves) for rest in frozen] == [(date(2026, 7, 2), date(2026, 7, 3))]
    assert date(2026, 7, 3) not in {night.night.serves for night in week.nights}
    warm = replace(site(station(1)), hold_limits=HoldLimits(freeze_c=0.0))
    assert date(2026, 7, 3) in {
        night.night.serves for night in plan(warm, tmin_c=on_day(date(2026, 7, 3), 1.0, 16.0)).nights
    }


def test_wind_holds_a_night_by_the_mean_of_the_days_that_it_touches():
    # 14 m/s on one day of 2 m/s: nights before and after it have a mean of 8 m/s, above 6.7.
    made = site(station(1))
    days = days_from_weather(weather(wind_m_s=on_day(date(2026, 7, 3), 14.0, 2.0)), made)
    held = with_weather_holds(made, days, FIRST).bans
    assert [(ban.kind, ban.first, ban.last) for ban in held] == [
        (HoldKind.WIND, date(2026, 7, 2), date(2026, 7, 3))
    ]
    day_time = replace(made, rules=replace(made.rules, opens_at=time(8), closes_at=time(12)))
    assert [(ban.first, ban.last) for ban in with_weather_holds(day_time, days, FIRST).bans] == [
        (date(2026, 7, 3), date(2026, 7, 3))
    ]


def test_in_wind_only_who_cannot_wait_waters_and_says_so():
    # 60 mm of roots last less than a day, 400 mm for days; every night counts as windy.
    lawns = (station(1, root_depth=known(60.0)), station(2, root_depth=known(400.0), depletion=known(1.0)))
    week = plan(replace(site(*lawns), hold_limits=HoldLimits(most_wind_m_s=1.5)))
    first = week.nights[0]
    assert [run.terminal for run in first.runs] == [1]
    assert first.runs[0].reason.endswith("its roots cannot wait for a calm night")
    told = next(rest for rest in week.rests if rest.terminal == 2 and rest.serves == first.night.serves)
    assert (told.kind, told.reason) == (RestKind.WIND, "wind would carry the spray away, and its root zone can wait")
    # In a week of wind the deep one waters when it must all the same, and stays within what it may lack.
    assert all(line.end_mm <= line.allowable_mm + 1e-9 for line in week.books if line.terminal == 2)


def test_holds_by_weather_are_laid_anew_and_the_rules_of_the_place_stay():
    made = replace(site(station(1)), bans=(Ban(FIRST, FIRST, "town water is off"),))
    days = days_from_weather(weather(wind_m_s=on_day(date(2026, 7, 5), 20.0, 2.0)), made)
    once = with_weather_holds(made, days, FIRST)
    assert with_weather_holds(once, days, FIRST) == once
    assert once.bans[0] == made.bans[0]
    assert len(once.bans) == 2


def test_who_can_waters_before_a_windy_night_and_rests_in_it():
    # 600 mm of loam give up some 30 mm, four days' use; filled on the evening of 1 July they last past the two nights
    # that count as windy, 3 m/s in the mean where 2.5 is the limit.
    deep = station(1, root_depth=known(600.0), depletion=known(16.0))
    made = replace(site(deep), hold_limits=HoldLimits(most_wind_m_s=2.5))
    windy = on_day(date(2026, 7, 3), 4.0, 2.0)
    calm_week, windy_week = plan(made), plan(made, wind_m_s=windy)

    def ran(week):
        return {night.night.opens_on for night in week.nights if night.runs}

    held = {date(2026, 7, 2), date(2026, 7, 3)}
    assert ran(calm_week) & held
    assert date(2026, 7, 1) in ran(windy_week)
    assert not ran(windy_week) & held
    assert {rest.opens_on for rest in windy_week.rests if rest.kind is RestKind.WIND} == held
    assert all(line.end_mm <= line.allowable_mm + 1e-9 for line in windy_week.books)
