"""What a water meter tells, by hand arithmetic: a litre on a square metre is a millimetre."""

from datetime import date

import pytest

from etsched.model.finding import Effect
from etsched.model.site import Basis
from etsched.model.visit import MeterReading, Visit
from etsched.planning.meters import meter_findings
from tests.planning.made import known, site, station

DAY = date(2026, 7, 13)


def read(*meters, caught=None, **over):
    made = site(station(1, **({"precip_rate": None} | over)))
    return list(meter_findings(made, Visit(DAY, meters=meters), caught or {}))


def by_field(found):
    return {(each.field, each.effect): each for each in found}


def test_flow_over_area_is_a_rate():
    found = by_field(read(MeterReading(1, 200.0, 5.0)))
    # 40 L/min on 60 m² put down 40 mm in an hour.
    assert found["flow", Effect.SETS].known.value == pytest.approx(40.0)
    assert found["flow", Effect.SETS].known.basis is Basis.MEASURED
    rate = found["precip_rate", Effect.SETS].known
    assert rate.value == pytest.approx(40.0)
    assert rate.basis is Basis.FROM_FLOW
    assert rate.note == "flow over area, water meter, visit of Mon Jul 13, 2026"


def test_what_leaks_while_nothing_runs_is_taken_off_every_flow():
    found = by_field(read(MeterReading(None, 30.0, 15.0), MeterReading(None, 10.0, 10.0), MeterReading(1, 200.0, 5.0)))
    # The worse of two static tests: 2 L/min.
    assert found["leak", Effect.WARNS].known.value == pytest.approx(2.0)
    assert found["leak", Effect.WARNS].terminal is None
    assert found["flow", Effect.SETS].known.value == pytest.approx(38.0)
    assert found["precip_rate", Effect.SETS].known.value == pytest.approx(38.0)


@pytest.mark.parametrize("litres", [0.0, 10.0])
def test_a_station_that_adds_nothing_to_the_leak_has_no_flow(litres):
    found = by_field(read(MeterReading(None, 30.0, 15.0), MeterReading(1, litres, 5.0)))
    assert set(found) == {("leak", Effect.WARNS), ("flow", Effect.WARNS)}
    assert "no more water passed the meter" in found["flow", Effect.WARNS].sentence


def test_a_meter_that_stands_still_finds_no_leak():
    assert read(MeterReading(None, 0.0, 15.0)) == []


def test_no_area_no_rate():
    assert [each.field for each in read(MeterReading(1, 200.0, 5.0), area_m2=None)] == ["flow"]


def test_a_blocked_station_may_be_metered():
    found = by_field(read(MeterReading(1, 200.0, 5.0), blocked="by hand only"))
    assert found["flow", Effect.SETS].known.value == pytest.approx(40.0)


@pytest.mark.parametrize(
    ("basis", "taken"),
    [(Basis.MEASURED, False), (Basis.STATED, False), (Basis.FROM_FLOW, True), (Basis.TYPICAL, True)],
)
def test_a_meter_outranks_what_is_weaker(basis, taken):
    found = by_field(read(MeterReading(1, 200.0, 5.0), precip_rate=known(30.0, basis)))
    assert (("precip_rate", Effect.SETS) in found) is taken


def test_cups_beside_a_meter_tell_what_never_lands():
    found = by_field(read(MeterReading(1, 200.0, 5.0), caught={1: 30.0}))
    assert ("precip_rate", Effect.SETS) not in found
    assert "75% of the metered water landed" in found["lands", Effect.WARNS].sentence


def test_more_in_the_cups_than_through_the_meter_is_a_slip_and_no_share():
    said = by_field(read(MeterReading(1, 200.0, 5.0), caught={1: 60.0}))["lands", Effect.WARNS].sentence
    assert "150%" in said
    assert "measure the area" in said
    assert "drift" not in said


# 60 m²: 60 × litres ÷ minutes ÷ 60 mm/h. The site file takes 0.02 to 6 in/h, 0.508 to 152.4 mm/h.
@pytest.mark.parametrize(("litres", "used"), [(0.5, False), (0.51, True), (152.0, True), (153.0, False)])
def test_a_flow_that_no_heads_put_down_is_told_and_not_used(litres, used):
    found = by_field(read(MeterReading(1, litres, 1.0)))
    assert (("flow", Effect.SETS) in found, ("precip_rate", Effect.SETS) in found) == (used, used)
    if not used:
        assert "no heads put down" in found["flow", Effect.WARNS].sentence
        assert found["flow", Effect.WARNS].known.value == pytest.approx(litres)


def test_of_two_readings_the_later_comes_last():
    flows = [each.known.value for each in read(MeterReading(1, 200.0, 5.0), MeterReading(1, 100.0, 5.0))]
    assert flows == pytest.approx([40.0, 40.0, 20.0, 20.0])


def test_a_meter_of_a_station_that_the_site_lacks_sets_nothing():
    assert read(MeterReading(9, 200.0, 5.0)) == []
