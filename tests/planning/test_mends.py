"""What is to be mended after a visit: all of it, once each, what waters again never."""

from dataclasses import replace
from datetime import date, datetime, time

import pytest

from etsched.model.recovery import RecoveryAsk
from etsched.model.visit import ClockFound, ElectricalReading, HeadSeen, MeterReading, Program, StationRun, Visit
from etsched.planning.findings import found_by
from etsched.planning.mends import mends
from etsched.planning.repairs import rank_repairs
from etsched.planning.weather_days import days_from_weather

from .made import site, station, weather

TRUE = datetime.fromisoformat("2026-07-06 06:05")
FIRST = date(2026, 7, 7)
THREE = site(station(1, area="North"), station(2, area="South"), station(3, area="Bank"))


def listed(made=THREE, **over):
    return [(each.terminals or each.where, each.what, each.on) for each in all_mends(made, **over)]


def all_mends(made=THREE, **over):
    visit = Visit(date(2026, 7, 6), **over)
    found = found_by(made, visit)
    findings = found.findings.findings
    repairs = rank_repairs(found.site, days_from_weather(weather(), made), FIRST, findings, visit.electrical)
    return mends(found.site, visit, findings, repairs)


def test_nothing_wrong_is_nothing_to_mend():
    assert listed() == []


def test_a_dead_station_whose_coil_was_read_is_told_what_follows_and_when():
    run = StationRun(1, from_controller=False, by_hand=True, wet_areas=("North",))
    (unread,) = listed(runs=(run,))
    assert unread == ((1,), ("read the coil and its wires, then the program",), None)
    ready = RecoveryAsk(ready={1: date(2026, 7, 24)})
    (read,) = listed(runs=(run,), electrical=(ElectricalReading(1, float("inf"), 26.4),), recovery=ready)
    assert read[0] == (1,)
    assert "replace the coil or splice the wire anew" in read[1][0]
    assert "read the coil" not in read[1][0]
    assert read[2] == date(2026, 7, 24)


@pytest.mark.parametrize(
    ("at", "said"),
    [
        ("", "; voltage is there (26.4 V; where it was read was not noted)"),
        ("terminal", "; voltage reaches its terminal"),
        ("valve", "; voltage reaches the valve"),
    ],
)
def test_a_voltage_is_said_to_be_where_it_was_read(at, said):
    run = StationRun(1, from_controller=False, by_hand=True, wet_areas=("North",))
    (read,) = listed(runs=(run,), electrical=(ElectricalReading(1, float("inf"), 26.4, at),))
    assert read[1][0].endswith(said)


def test_the_reading_of_another_station_says_nothing_of_this_one():
    run = StationRun(1, from_controller=False, by_hand=True, wet_areas=("North",))
    (told,) = listed(runs=(run,), electrical=(ElectricalReading(2, float("inf"), 26.4),))
    assert told[1] == ("read the coil and its wires, then the program",)


def test_heads_are_named_with_what_is_wrong_and_leaks_stand_with_their_station():
    run = StationRun(2, from_controller=True, wet_areas=("South",), leak="split riser: second island")
    heads = (HeadSeen(2, "tilted", 2, "gate: left"), HeadSeen(3, "overspray"))
    assert listed(runs=(run,), heads=heads) == [
        (
            (2,),
            (
                "2 heads (gate: left) are tilted; set them upright and firm the ground",
                "mend the leak: split riser: second island",
            ),
            None,
        ),
        ((3,), ("1 head is spraying paving; set the arc or throw, so that the water lands on turf",), None),
    ]


def test_a_station_that_waters_again_is_nothing_to_mend():
    blocked = replace(THREE, stations=(replace(THREE.stations[0], blocked="no coil"), *THREE.stations[1:]))
    assert listed(blocked, runs=(StationRun(1, from_controller=True, wet_areas=("North",)),)) == []


def test_a_creeping_meter_and_crossed_stations():
    runs = (
        StationRun(1, from_controller=True, wet_areas=("South",)),
        StationRun(2, from_controller=True, wet_areas=("North",)),
    )
    assert listed(runs=runs, meters=(MeterReading(None, 2.0, 10.0),)) == [
        ("water meter", ("find the leak: water runs through the meter while no station is on",), None),
        (
            (1, 2),
            (
                "tell whoever keeps the record (the site file), and mark it beside the controller: station 1 waters "
                "South, station 2 waters North",
            ),
            None,
        ),
    ]
    assert listed(meters=(MeterReading(None, 0.0, 10.0),)) == []


@pytest.mark.parametrize(
    ("clock", "lines"),
    [
        ({"reads": datetime.fromisoformat("2026-07-05 05:42"), "really": TRUE},
         ["set its date and time: it is 1 day and 23 minutes behind"]),
        ({"reads": datetime.fromisoformat("2026-07-06 06:08"), "really": TRUE}, []),
        ({"rain_switch": "bypassed"}, ["take the rain switch off bypass"]),
        ({"rain_switch": "on"}, []),
        ({"rain_switch": "none"}, ["fit a rain switch: there is none, and the clock waters in the rain"]),
        ({"programs": (Program("A", (time(4), time(16)), frozenset({0}), {1: 10.0}, 80.0),)},
         ["program A starts at 4:00 am and 4:00 pm and runs all its stations each time: take out the second start, "
          "4:00 pm, unless somebody wants it",
          "set program A back from 80% to 100%, or new minutes will not run as they are keyed in"]),
        ({"programs": (Program("A", (time(16), time(4), time(8, 30)), frozenset({0}), {1: 10.0}),)},
         ["program A starts at 4:00 am, 8:30 am and 4:00 pm and runs all its stations each time: take out the further "
          "starts, 8:30 am and 4:00 pm, unless somebody wants them"]),
        ({"programs": (Program("A", (time(4), time(16)), frozenset(), {1: 10.0}),)}, []),  # it never runs
    ],
)  # fmt: skip
def test_what_is_set_wrongly_at_the_clock(clock, lines):
    told = listed(clock=ClockFound(**{"programs": (), **clock}))
    assert [(where, what) for where, what, _ in told] == [("clock", (line,)) for line in lines]


def test_what_is_broken_is_a_repair_and_what_is_keyed_in_or_written_down_a_setting():
    runs = (
        StationRun(1, from_controller=True, wet_areas=("South",), leak="split riser"),
        StationRun(2, from_controller=True, wet_areas=("North",)),
    )
    meters = (MeterReading(None, 2.0, 10.0),)
    found = all_mends(runs=runs, meters=meters, clock=ClockFound((), rain_switch="bypassed"))
    assert [(each.where, each.setting) for each in found] == [
        ("South", False),
        ("water meter", False),
        ("record of the wiring", True),
        ("clock", True),
    ]
    (fit,) = all_mends(clock=ClockFound((), rain_switch="none"))
    assert not fit.setting
