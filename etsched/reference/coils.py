"""What a reading at a terminal says about its coil, its wires and the controller's output."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from etsched.reference.figure import Table, origin, table

NOT_READ = "not read"


@dataclass(frozen=True, slots=True)
class CoilReading:
    """A reading in words; `kind` is "sound", "not read", or the fault: "coil short", "volts none" and the like."""

    kind: str
    sentence: str
    source: str
    mend: str = ""  # what to do at a station that does not come on; "" where nothing was read


def cautions() -> tuple[str, ...]:
    """Give what must be said wherever readings at a controller are asked for or shown."""
    return tuple(table("coils.toml")["cautions"])


def coil_kind(coil_ohm: float) -> str:
    """Name the band of a resistance; inf is an open line."""
    return str(_band("coil", "ohm", coil_ohm)["kind"])


def read_coil(coil_ohm: float | None, volts_v: float | None, volts_at: str = "") -> CoilReading:
    """Read resistance (power off) and voltage (station on) together; the coil's fault outranks the voltage's.

    What is read at the valve has come through the wires, so `volts_at` decides what a voltage speaks for.
    """
    place = f"V at the {volts_at}" if volts_at else "V"
    read = [
        (name, "no reading" if value == inf else f"{value:g} {label}", _band(name, unit, value))
        for name, value, unit, label in (("coil", coil_ohm, "ohm", "Ω"), ("volts", volts_v, "v", place))
        if value is not None
    ]
    if volts_at == "valve":
        read = [(name, shown, _at_valve(band) if name == "volts" else band) for name, shown, band in read]
    faults = [f"{name} {band['kind']}" for name, _, band in read if band["kind"] != "good"]
    parts = [f"{shown}: {band['says']}" for _, shown, band in read]
    if not parts:
        return CoilReading(NOT_READ, "Neither coil nor voltage was read.", "")
    if not faults and len(parts) > 1:
        parts.append("what may still fail is in the valve, not in the wires")
    elif faults == ["coil open"] and len(parts) > 1 and volts_at == "valve":
        parts.append(table("coils.toml")["valve_volts"]["open_coil"])
    sources = dict.fromkeys(_source(band) for _, _, band in read)
    mend = _mend([each for _, _, each in read], _there(volts_v, volts_at))
    return CoilReading(faults[0] if faults else "sound", _sentence(parts), "; ".join(sources), mend)


def _there(volts_v: float | None, volts_at: str) -> str:
    """Say where the voltage is, and no more than the record says of the place."""
    if volts_at:
        return f"voltage reaches {'the valve' if volts_at == 'valve' else 'its terminal'}"
    return "" if volts_v is None else f"voltage is there ({volts_v:g} V; where it was read was not noted)"


def _mend(bands: list[Table], there: str) -> str:
    """Say what follows: the first fault is mended; where the wires are good, what is left is read, or the valve."""
    faulty = [band for band in bands if band["kind"] != "good"]
    if faulty:
        sound = f"; {there}" if len(bands) > 1 and bands[1]["kind"] == "good" else ""
        return f"{faulty[0]['mend']}{sound}"
    if len(bands) == 1:
        return str(bands[0]["mend"]).format(there=there)
    return "coil, wires and voltage are good: look at the valve itself"


def _at_valve(band: Table) -> Table:
    """Give what a band of voltages says at the valve, where that differs."""
    valve = table("coils.toml")["valve_volts"]
    said = valve.get(band["kind"])
    return band if said is None else {**band, "says": said, "source": valve["source"], "mark": valve["mark"]}


def _band(name: str, unit: str, value: float) -> Table:
    bands = table("coils.toml")[name]
    under = [band for band in bands["under"] if value < band[f"below_{unit}"]]
    over = [band for band in bands["over"] if value > band[f"above_{unit}"]]
    found: Table = [*under[:1], *over[-1:], bands["good"]][0]
    return found


def _source(band: Table) -> str:
    return origin(table("coils.toml")["sources"][band["source"]], band["mark"])[0]


def _sentence(parts: list[str]) -> str:
    text = "; ".join(parts)
    return f"{text[0].upper()}{text[1:]}."
