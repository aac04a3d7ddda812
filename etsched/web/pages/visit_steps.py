"""What a visit asks, screen by screen: its fields in the order in which a technician walks, and how each is typed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from etsched.documents.visit_words import CUP_UNITS
from etsched.reference.faults import head_faults
from etsched.reference.feel import feel_classes
from etsched.reference.signs import Kind, signs

if TYPE_CHECKING:
    from etsched.model.site import Site

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
How = Literal["text", "number", "one", "yes or no", "many", "date", "time", "moment", "lines", "wet", "station", "grid"]


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
        _area(depth),
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
        Field("notes", "Worth remembering, one thing a line", "lines"),
        Field("photos", "Photos by file name, one a line", "lines"),
    )
    return Step("visit", "The visit", fields)


def _clock() -> Step:
    fields = (
        Field("shows", "Date and time it shows", "moment"),
        Field("really", "What time it really is", "time"),
        Field("rain_switch", "Rain switch", "one", ("on", "bypassed", "none")),
    )
    words = "Before anything is touched. Mains voltage may stand behind the door: leave covers on."
    return Step("clock", "The clock as found", fields, words=words)


def _program(terminals: list[tuple[int, str]]) -> Step:
    fields = (
        Field("name", "Name on the clock, such as A"),
        Field("starts", "Start time", "time", times=4, hint="Every one it holds, also forgotten ones."),
        Field("days", "Days", "many", _DAYS),
        Field("percent_adjust", "Percent adjust", "number", unit="%"),
        *(Field(f"minutes.{number}", f"Station {number}, {area}", "number", unit="min") for number, area in terminals),
    )
    return Step("program", "Program", fields, "more", "Minutes are typed as the clock shows them.")


def _area(depth: str) -> Step:
    fields = (
        Field("name", "Area", "wet"),
        Field("pattern", "Shape of what fails", "one", _names("pattern")),
        Field("colour", "Colour", "one", _names("colour")),
        Field("signs", "What else shows", "many", _names("sign")),
        Field("living_cover", "Living turf covers", "number", unit="%"),
        Field("tug", "When tugged, the turf", "one", ("holds", "lifts")),
        Field("insects.kind", "Insects", "one", _names("insect")),
        Field("insects.count", "Counted a square foot", "number"),
        Field("drop", "A drop on an air-dry core sits", "number", unit="s"),
        Field("mown", "Mown at", "number", unit=depth),
        Field("thatch", "Thatch", "number", unit=depth),
    )
    return Step("area", "Area as it looks", fields, "more")


def _run() -> Step:
    fields = (
        Field("from_controller", "Came on from the controller", "yes or no"),
        Field("by_hand", "Came on by hand at the valve", "yes or no"),
        Field("wet", "Which areas got wet?", "wet", times=3),
        Field("first_runoff", "Water ran off after", "number", unit="min"),
        Field("leak", "Where water escaped"),
    )
    words = "Before a hand goes into a valve box, look for spiders, snakes and bare wires."
    return Step("run", "Station", fields, "station", words)


def _heads() -> Step:
    fields = (
        Field("station", "Station", "station"),
        Field("fault", "What is wrong", "one", tuple(head_faults())),
        Field("count", "How many heads", "number"),
        Field("label", "Which, as people find them"),
        Field("note", "Note"),
    )
    return Step("head", "Fault of heads", fields, "more")


def _electrical() -> Step:
    fields = (
        Field("station", "Terminal", "station"),
        Field("coil", "Coil with its wires, power off", "number", ("open",), unit="ohm"),
        Field("voltage", "At the terminal while it is on", "number", unit="V"),
    )
    words = (
        "Only at the low-voltage terminals, by whoever is trained for it; the mains side stays closed and local "
        "electrical rules hold."
    )
    return Step("electrical", "Coil and voltage", fields, "more", words)


def _cups(far: str, *, metric: bool) -> Step:
    fields = (
        Field("stations", "Station that ran", "station"),
        Field("minutes", "It ran", "number", unit="min"),
        Field("unit", "Cups are read in", "one", tuple(CUP_UNITS)),
        Field("rows", "What each cup caught, the northern row first", "grid"),
        Field("spacing", "From cup to cup in a row", "number", unit=far),
        Field("row_spacing", "From row to row, where that differs", "number", unit=far),
        Field("throat", "Area of a cup's mouth", "number", unit="cm2" if metric else "sq in"),
        Field("capacity", "A cup holds", "number", unit="mL"),
        Field("wind", "Wind", "number", unit="m/s" if metric else "mph"),
        Field("pressure", "Pressure at a head", "number", unit="kPa" if metric else "psi"),
        Field("area", "Area", "wet"),
        Field("note", "Note"),
    )
    return Step("cups", "Cup test", fields, "more", "Wind below 5 mph (2.2 m/s), at least 24 cups.")


def _cores(depth: str, far: str) -> Step:
    feels = tuple(each.key for each in feel_classes())
    layers = (
        field
        for at in range(3)
        for field in (
            Field(f"layers.{at}.bottom", f"Layer {at + 1} ends at", "number", unit=depth),
            Field(f"layers.{at}.feel", f"Layer {at + 1} feels", "one", feels),
        )
    )
    fields = (
        Field("area", "Area", "wet"),
        Field("station", "Station that waters it", "station"),
        Field("colour", "Taken in turf that is", "one", ("green", "brown")),
        Field("depth", "The core reached", "number", unit=depth),
        Field("moist", "Moist down to", "number", unit=depth),
        Field("roots", "Most roots down to", "number", unit=depth),
        Field("stone", "Met a stone at", "number", unit=depth),
        *layers,
        Field("x", "East, on the grid of the cups", "number", unit=far),
        Field("y", "North", "number", unit=far),
        Field("note", "Note"),
    )
    words = (
        "The green one first: it shows what normal is. Know where pipes and cables lie before the probe goes in; local "
        "rules for digging hold."
    )
    return Step("core", "Soil core", fields, "more", words)


def _meter(volume: str) -> Step:
    fields = (
        Field("station", "Station that ran", "station", hint="None: the leak test, with nothing on."),
        Field("volume", "Went through", "number", unit=volume),
        Field("minutes", "Watched for", "number", unit="min"),
    )
    return Step("meter", "Water meter", fields, "more")


def _salts() -> Step:
    fields = (
        Field("water", "Irrigation water", "number", unit="dS/m"),
        Field("soil", "Soil's saturation extract", "number", unit="dS/m"),
    )
    return Step("salts", "Salts", fields)


def _afterwards(terminals: list[tuple[int, str]]) -> Step:
    fields = (
        Field("fertiliser.nitrogen", "Fertiliser at hand: nitrogen", "number", unit="%"),
        Field("fertiliser.slow_release", "Of that, slow release", "number", unit="%"),
        Field("feed_ban.0.first", "Feeding is forbidden from", "date"),
        Field("feed_ban.0.last", "Until", "date"),
        Field("feed_ban.0.reason", "Who forbids it"),
        *(Field(f"repaired_on.{number}", f"Station {number}, {area}: mended on", "date") for number, area in terminals),
    )
    words = "A product's label is the law, and local bans on fertiliser come before any date."
    return Step("recovery", "What follows", fields, words=words)


def _names(kind: Kind) -> tuple[str, ...]:
    return tuple(each.name for each in signs(kind).values())


