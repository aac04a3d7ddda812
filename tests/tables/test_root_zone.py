from dataclasses import replace
from datetime import date, time, timedelta

from etsched.days import night
from etsched.model.light_runs import LightDay, LightRun
from etsched.tables.root_zone import root_zone_table
from tests.reports.sample_week import MONDAY, ZONE, sample_week

TUESDAY = MONDAY + timedelta(days=1)


def by_night(plan):
    return {row.books.date: row.by_night.value for row in root_zone_table(plan, 1, "metric").rows}


def test_what_enters_by_day_is_not_the_nights():
    # Tuesday's books credit 12.7 mm; two light runs of 1.2 mm each leave the night 10.3 mm.
    runs = tuple(LightRun(terminal, 0, 5, 2.0, 1.2, None, 0.5) for terminal in (1, 1, 4))
    light = LightDay(night(TUESDAY, time(9), time(17), ZONE), runs)
    assert by_night(sample_week()) == {MONDAY: 0.0, TUESDAY: 12.7}
    assert by_night(replace(sample_week(), light=(light,))) == {MONDAY: 0.0, TUESDAY: 12.7 - 2.4}


def test_a_visit_belongs_to_its_day_or_is_kept_apart():
    table = root_zone_table(sample_week(), 1, visits=(TUESDAY, date(2026, 8, 1), date(2026, 7, 1)))
    assert [row.visited for row in table.rows] == [False, True]
    assert table.visits_elsewhere == (date(2026, 7, 1), date(2026, 8, 1))


def test_units_are_those_of_the_reader():
    # 25.4 mm are an inch; 12.7 mm of irrigation half of one.
    table = root_zone_table(sample_week("us"), 1)
    assert (table.capacity.text, table.rows[1].books.irrigation.text) == ("1.00 in", "0.50 in")
