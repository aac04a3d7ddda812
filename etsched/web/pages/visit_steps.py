"""What a visit asks, screen by screen: its fields in the order in which a technician walks, and how each is typed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from etsched.documents.visit_words import CUP_UNITS
from etsched.reference.faults import head_faults
from etsched.reference.feel import feel_classes
from etsched.reference.signs import Kind, sign_groups, signs

if TYPE_CHECKING:
    from collections.abc import Mapping

    from etsched.model.site import Site

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_STARTS = 8  # of one program; common practice, no source: ordinary clocks hold fewer or as many
_LAYERS = "Only where you felt the soil layer by layer. Three such cores of healthy turf tell the plan its water."
# What a word of the record alone does not tell apart on the spot.
_FAULTS_SAID = {
    "blocked": "blocked: something stands in its throw",
    "clogged": "clogged: dirt in the nozzle or its filter",
    "leaking": "leaking at the head or its riser, also a split riser",
    "overspray": "spraying paving or a wall",
}
How = Literal[
    "text",
    "paragraph",
    "lines",
    "number",
    "one",
    "yes or no",
    "many",
    "date",
    "time",
    "moment",
    "wet",
    "station",
    "grid",
]


@dataclass(frozen=True, slots=True)
class Field:
    """One question; its name is its path in the record's table, a number typed there gets its unit."""

    name: str
    label: str
    how: How = "text"
    choices: tuple[str, ...] = ()
    unit: str = ""
    hint: str = ""
    times: int = 1  # how many such values may stand in a list
    said: Mapping[str, str] = field(default_factory=dict)  # choice → its words, where the record's are too short
    above: Mapping[str, str] = field(default_factory=dict)  # choice → the words over its group, at the first of it
    blank: str = ""  # what no choice means
    terminal: int | None = None  # the station that the question is of, where each has its own

    @property
    def is_list(self) -> bool:
        """Whether it holds several values."""
        return self.how == "many" or self.times > 1

    def names(self, prefix: str) -> tuple[str, ...]:
        """Name its inputs below a row's own name; a choice has another input for the word in place of a number."""
        own = f"{prefix}.{self.name}"
        more = len(self.choices) if self.how == "many" else self.times
        if self.how == "number":
            return (own, *(f"{own}.or" for _ in self.choices))
        return tuple(f"{own}.{at}" for at in range(more)) if self.is_list else (own,)


@dataclass(frozen=True, slots=True)
class Step:
    """A table of the record: one screen, one for each station, or as many as it takes."""

    table: str
    title: str
    fields: tuple[Field, ...]
    one: str = ""  # what one of its screens is called; "": there is only one, and the title is its
    each: Literal["once", "station", "more"] = "once"
    words: str = ""


def steps_of(site: Site) -> tuple[Step, ...]:
    """Give the steps of a visit to a property, in the units that its readers read."""
    metric = site.units == "metric"
    depth, far, volume = ("mm", "m", "L") if metric else ("in", "ft", "gal")
    terminals = [(station.terminal, station.area) for station in site.stations]
    return (
        _start(),
        _clock(),
        _program(terminals),
        _area(depth, metric=metric),
        _run(),
        _heads(),
        _electrical(),
        _cups(far, metric=metric),
        _cores(depth, far),
        _meter(volume),
        _salts(),
        _afterwards(terminals),
    )


def _start() -> Step:
    fields = (
        Field("date", "Day of the visit", "date"),
        Field("technician", "Who is here"),
        Field("notes", "Notes", "lines", hint="One thing a line."),
        Field("photos", "Photos taken", "lines", hint="One a line: what each shows, or its file name."),
    )
    return Step("visit", "The visit", fields)


def _clock() -> Step:
    fields = (
        Field("shows", "Date and time it shows", "moment"),
        Field("really", "True time at that moment", "time"),
        Field("rain_switch", "Rain switch", "one", ("on", "bypassed", "none")),
    )
    words = "Before anything is touched. Mains voltage may stand behind the door: leave covers on."
    return Step("clock", "The clock as found", fields, words=words)


def _program(terminals: list[tuple[int, str]]) -> Step:
    fields = (
        Field("name", "Name on the clock, such as A"),
        Field("starts", "Start time", "time", times=_STARTS, hint="Every one it holds, also one that seems unused."),
        Field("days", "Days", "many", DAYS),
        Field("percent_adjust", "Percent adjust", "number", unit="%", hint="Left empty: 100 %."),
        *(Field(f"minutes.{number}", f"Station {number}, {area}", "number", unit="min") for number, area in terminals),
    )
    words = (
        "Type the minutes that were set. Where the clock shows only those after percent adjust, type those and leave "
        "percent adjust empty."
    )
    return Step("program", "Programs", fields, "Program", "more", words)


def _area(depth: str, *, metric: bool) -> Step:
    groups = sign_groups()
    names = {key: each.name for key, each in signs("sign").items()}
    counted = "How many in a square of 30 cm" if metric else "How many in a square foot"
    fields = (
        Field("name", "Which lawn or part", "wet"),
        Field("where", "Where in it", hint="Such as south-west corner."),
        _named("pattern", "Shape of what fails", "pattern", "not looked at", "The worst spot; the rest into the note."),
        _named("colour", "Colour", "colour", "not looked at", "Of what fails; the rest into the note."),
        Field(
            "signs",
            "What else shows",
            "many",
            tuple(names[key] for keys in groups.values() for key in keys),
            hint="Tick only what you saw.",
            said={each.name: each.words for each in signs("sign").values()},
            above={names[keys[0]]: words for words, keys in groups.items()},
        ),
        Field("living_cover", "Still alive, share of the whole area", "number", unit="%"),
        Field("tug", "When tugged, the turf", "one", ("holds", "lifts"), said={"lifts": "lifts like carpet"}),
        _named("insects.kind", "Insects", "insect", "not looked for, or none"),
        Field("insects.count", counted, "number"),
        Field("drop", "A drop on a dry core sits", "number", unit="s", hint="Above 10 s it beads."),
        Field("mown", "Mown at", "number", unit=depth),
        Field("thatch", "Thatch", "number", unit=depth),
        Field("note", "Note", "paragraph"),
    )
    return Step("area", "Areas as they look", fields, "Area", "more")


def _named(name: str, label: str, kind: Kind, blank: str, hint: str = "") -> Field:
    """Ask for one of a kind of signs, said in words."""
    found = signs(kind).values()
    said = {each.name: each.words for each in found}
    return Field(name, label, "one", tuple(said), hint=hint, said=said, blank=blank)


def _run() -> Step:
    fields = (
        Field("from_controller", "Came on from the controller", "yes or no"),
        Field(
            "by_hand",
            "Came on by hand at the valve",
            "yes or no",
            hint="Only if it did not come on from the controller.",
        ),
        Field("wet", "Which areas got wet?", "wet", times=3),
        Field("first_runoff", "Water began to run off after", "number", unit="min"),
        Field(
            "leak",
            "Leak in the line or valve: where",
            hint="A leak at a head or its riser goes under Heads. Runoff has its own field.",
        ),
    )
    words = "Before a hand goes into a valve box, look for spiders, snakes and bare wires."
    return Step("run", "Stations, one by one", fields, "Station", "station", words)


def _heads() -> Step:
    faults = {key: each.words for key, each in head_faults().items()} | _FAULTS_SAID
    fields = (
        Field("station", "Station", "station"),
        Field("fault", "What is wrong", "one", tuple(head_faults()), said=faults),
        Field("count", "How many heads", "number", hint="Left empty: one."),
        Field("label", "Where it is", hint="As people find it: by the gate."),
        Field("note", "Note", "paragraph"),
    )
    return Step("head", "Heads with faults", fields, "Head fault", "more", "One screen for each fault of a station.")


def _electrical() -> Step:
    places = {"terminal": "at the clock's terminal", "valve": "at the valve"}
    fields = (
        Field("station", "Station", "station"),
        Field("coil", "Coil with its wires, power off", "number", ("open",), unit="ohm"),
        Field("voltage", "Voltage while the station is on", "number", unit="V"),
        Field("voltage_at", "Where the voltage was read", "one", tuple(places), said=places, blank="not noted"),
    )
    words = (
        "Only the low-voltage side, by whoever is trained for it; the mains side stays closed and local electrical "
        "rules hold. Before a hand goes into a valve box, look for spiders, snakes and bare wires."
    )
    return Step("electrical", "Coils and voltages", fields, "Coil and voltage", "more", words)


def _cups(far: str, *, metric: bool) -> Step:
    fields = (
        Field("stations", "Station that ran", "station"),
        Field("minutes", "It ran", "number", unit="min"),
        Field("unit", "Cups are read in", "one", tuple(CUP_UNITS)),
        Field(
            "rows",
            "What each cup caught",
            "grid",
            hint="The first row is the one farthest north; where you walked another way, say so in the note.",
        ),
        Field("spacing", "From cup to cup in a row", "number", unit=far),
        Field("row_spacing", "From row to row, where that differs", "number", unit=far),
        Field("throat", "Area of a cup's mouth", "number", unit="cm2" if metric else "sq in"),
        Field("capacity", "A cup holds", "number", unit="mL"),
        Field("wind", "Wind", "number", unit="m/s" if metric else "mph"),
        Field("pressure", "Pressure at a head", "number", unit="kPa" if metric else "psi"),
        Field("area", "Which lawn, if not the one of its station", "wet"),
        Field("note", "Note", "paragraph"),
    )
    words = "Wind below 5 mph (2.2 m/s), at least 24 cups."
    return Step("cups", "Cup tests", fields, "Cup test", "more", words)


def _cores(depth: str, far: str) -> Step:
    feels = tuple(each.key for each in feel_classes())
    felt = {each.key: f"{each.key}: {each.words}" for each in feel_classes()}
    layers = (
        each
        for at in range(3)
        for each in (
            Field(
                f"layers.{at}.bottom",
                f"Layer {at + 1} ends at",
                "number",
                unit=depth,
                hint=_LAYERS if at == 0 else "",
            ),
            Field(f"layers.{at}.feel", f"Layer {at + 1} feels", "one", feels, said=felt),
        )
    )
    fields = (
        Field("area", "Which lawn or part", "wet"),
        Field("station", "Station that waters it", "station"),
        Field("colour", "Taken in turf that is", "one", ("green", "brown")),
        Field("depth", "The core reached", "number", unit=depth),
        Field("moist", "Moist down to", "number", unit=depth),
        Field("roots", "Most roots down to", "number", unit=depth),
        Field(
            "stone",
            "A stone or root stopped the probe at",
            "number",
            unit=depth,
            hint="Empty where hard, dry ground stopped it, or nobody knows what.",
        ),
        *layers,
        Field("x", "East of the south-west cup", "number", unit=far, hint="Only where cups were set; may stay empty."),
        Field("y", "North of that cup", "number", unit=far),
        Field("note", "Note", "paragraph"),
    )
    words = (
        "If there is green and brown, a green one first: it shows what normal is. Know where pipes and cables lie "
        "before the probe goes in; local rules for digging hold."
    )
    return Step("core", "Soil cores", fields, "Soil core", "more", words)


def _meter(volume: str) -> Step:
    fields = (
        Field("station", "Station that ran", "station", blank="none on (leak test)"),
        Field("volume", "Went through", "number", unit=volume),
        Field("minutes", "Watched for", "number", unit="min"),
    )
    return Step("meter", "Water meter", fields, "Meter reading", "more")


def _salts() -> Step:
    fields = (
        Field("water", "Irrigation water", "number", unit="dS/m"),
        Field("soil", "Soil's saturation extract", "number", unit="dS/m"),
    )
    return Step("salts", "Salts", fields, words="From a laboratory's report. Without one leave it empty.")


def _afterwards(terminals: list[tuple[int, str]]) -> Step:
    fields = (
        Field("fertiliser.nitrogen", "Fertiliser at hand: nitrogen", "number", unit="%"),
        Field("fertiliser.slow_release", "Share of the nitrogen that is slow release", "number", unit="%"),
        Field("feed_ban.0.first", "Feeding is forbidden: first day", "date"),
        Field("feed_ban.0.last", "Feeding is forbidden: last day", "date"),
        Field("feed_ban.0.reason", "Who forbids it"),
        *(
            Field(f"repaired_on.{number}", f"{each}: repair date, done or planned", "date", terminal=number)
            for number, each in ((number, f"Station {number}, {area}") for number, area in terminals)
        ),
    )
    words = "A product's label is the law, and local bans on fertiliser come before any date."
    return Step("recovery", "Repairs and feeding", fields, words=words)
