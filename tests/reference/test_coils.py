"""Coil and voltage readings against the trade's figures: 20–60 Ω good, under 10 short, 24–28 V at a live station."""

from math import inf

import pytest

from etsched.reference import coils


@pytest.mark.parametrize(
    ("ohm", "kind"),
    [(0, "short"), (9.9, "short"), (10, "low"), (19.9, "low"), (20, "good"), (60, "good"), (60.1, "poor joint"),
     (1000, "poor joint"), (5000, "open"), (inf, "open")],
)  # fmt: skip
def test_bands_of_resistance(ohm, kind):
    assert coils.coil_kind(ohm) == kind
    assert coils.read_coil(ohm, None).kind == ("sound" if kind == "good" else f"coil {kind}")


@pytest.mark.parametrize(
    ("volts", "kind"),
    [(0, "volts none"), (0.9, "volts none"), (1, "volts low"), (23.9, "volts low"), (24, "sound"), (28, "sound"),
     (28.1, "volts high")],
)  # fmt: skip
def test_bands_of_voltage(volts, kind):
    assert coils.read_coil(None, volts).kind == kind
    assert coils.read_coil(40, volts).kind == kind


def test_the_coil_outranks_the_voltage_and_both_are_said():
    reading = coils.read_coil(inf, 26)
    assert reading.kind == "coil open"
    assert reading.sentence.startswith("No reading: open line, a broken wire")
    assert "26 V: the voltage is good" in reading.sentence
    assert "second-hand copy" in coils.read_coil(35, 26).source
    assert "common practice, no source" in reading.source


def test_a_sound_pair_points_at_the_valve_and_one_reading_alone_does_not():
    assert "in the valve, not in the wires" in coils.read_coil(35, 25).sentence
    assert "valve, not" not in coils.read_coil(35, None).sentence


def test_a_voltage_at_the_valve_has_come_through_the_wires():
    dead = coils.read_coil(inf, 26.4, "valve")
    assert dead.kind == "coil open"
    assert "26.4 V at the valve: the voltage is good, so the controller's output and the wires" in dead.sentence
    assert dead.sentence.endswith("what is open is the coil or its joint at the valve.")
    # At the terminal it says nothing of the wires.
    at_clock = coils.read_coil(inf, 26.4, "terminal").sentence
    assert "26.4 V at the terminal: the voltage is good" in at_clock
    assert "wires carry" not in at_clock
    assert "joint at the valve" not in at_clock


def test_no_voltage_at_the_valve_points_at_the_wires_first():
    none = coils.read_coil(34, 0, "valve")
    assert none.kind == "volts none"
    assert "0 V at the valve: no voltage: the wires or their joints" in none.sentence
    assert "the wires or their joints" not in coils.read_coil(34, 0, "terminal").sentence


def test_nothing_read_is_said():
    assert coils.read_coil(None, None) == coils.CoilReading("not read", "Neither coil nor voltage was read.", "")


def test_cautions_name_mains_and_a_licensed_electrician():
    said = " ".join(coils.cautions())
    assert "mains voltage" in said
    assert "licensed electrician" in said


@pytest.mark.parametrize(
    ("ohm", "volts", "do"),
    [
        (inf, 26.4, "its coil or a splice is open: read at the valve, then replace the coil or splice the wire anew; "
         "voltage is there (26.4 V; where it was read was not noted)"),
        (inf, None, "its coil or a splice is open: read at the valve, then replace the coil or splice the wire anew"),
        (36, None, "its coil and wires are good: read the voltage with the station on"),
        (None, 26, "voltage is there (26 V; where it was read was not noted): read the coil with the power off"),
        (36, 26, "coil, wires and voltage are good: look at the valve itself"),
        (36, 0, "look at the program, the controller's output and its fuse"),
        (5, 0, "replace the coil, or part the bare wires that touch"),
        (None, None, ""),
    ],
)  # fmt: skip
def test_what_was_read_says_what_to_do_and_sends_nobody_to_read_it_again(ohm, volts, do):
    assert coils.read_coil(ohm, volts).mend == do


@pytest.mark.parametrize(("at", "where"), [("terminal", "its terminal"), ("valve", "the valve")])
def test_a_voltage_reaches_only_where_the_record_says_that_it_was_read(at, where):
    assert coils.read_coil(inf, 26.4, at).mend.endswith(f"; voltage reaches {where}")
    assert coils.read_coil(None, 26.4, at).mend == f"voltage reaches {where}: read the coil with the power off"
    assert "reaches" not in coils.read_coil(inf, 26.4).mend


def test_every_band_says_what_to_do():
    assert all(coils.read_coil(ohm, None).mend for ohm in (5, 15, 30, 100, 2000))
    assert all(coils.read_coil(None, volts).mend for volts in (0, 12, 26, 40))
