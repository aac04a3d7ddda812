"""How much water a set of runs takes and what it costs, and honestly how much of it is known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from etsched.model.light_runs import LightRun
from etsched.model.plan import Run, WeekPlan
from etsched.model.site import WaterPrice
from etsched.tables.figure import Figure, count_of, figure
from etsched.units import UnitSystem, per_m3

_CENTS = 2
# Currencies without a smaller coin (ISO 4217 minor units, from memory, to be verified); all others get two decimals.
_WHOLE = frozenset(
    ("BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV", "XAF", "XOF", "XPF")
)
# How a volume that water is billed by is written out.
_BILLED = {"kgal": "1,000 gal", "CCF": "100 cubic feet (CCF)", "HCF": "100 cubic feet (HCF)"}
NO_CUPS = "not known until a cup test"
HOW_TO_PRICE = (
    "No cost is shown, since the site file states no price of water. Two lines in it, [water] and below it "
    'price = "4.10 USD/kgal" (or by CCF, or by m3), show the cost from the next plan on.'
)


@dataclass(frozen=True, slots=True)
class Volume:
    """The water of the runs whose flow is known with its cost, and the terminals whose flow nobody knows."""

    known: Figure
    unmetered: tuple[int, ...]
    cost: Figure | None = None  # None where no price is stated

    @property
    def text(self) -> str:
        """The volume in words: `412 gal`, or a floor where some flow is not known."""
        if self.known.value is None:
            return "not known"
        if not self.unmetered:
            return self.known.text
        stations = count_of(len(self.unmetered), "station", "stations")
        return f"at least {self.known.text} (flow of {stations} not known)"

    @property
    def cost_text(self) -> str:
        """The cost in words: `2.31 USD`, or a floor where some flow is not known; nothing without a price."""
        if self.cost is None:
            return ""
        if self.cost.value is None:
            return "not known"
        return f"at least {self.cost.text}" if self.unmetered else self.cost.text

    @property
    def paid_text(self) -> str:
        """The volume and what it costs, in one line; what is not known is said once."""
        if self.known.value is None:
            return "water not known"
        return f"{self.text}, {self.cost_text}" if self.cost is not None else self.text

    @property
    def short(self) -> str:
        """The volume for a narrow column whose head names the unit."""
        return self._short(self.known)

    @property
    def cost_short(self) -> str:
        """The cost for a narrow column whose head names the currency."""
        return "" if self.cost is None else self._short(self.cost)

    def _short(self, known: Figure) -> str:
        return f"≥ {known.number}" if self.unmetered and known.value is not None else known.number


def volume(runs: Iterable[Run | LightRun], system: UnitSystem, price: WaterPrice | None) -> Volume:
    """Add up the water of runs that open a valve, and what it costs."""
    watering = [run for run in runs if run.length_min]
    flows = [run.flow_l for run in watering if run.flow_l is not None]
    unmetered = sorted({run.terminal for run in watering if run.flow_l is None})
    total = sum(flows) if flows or not watering else None
    return Volume(figure(total, "l", system), tuple(unmetered), cost_of(total, price))


def cost_of(volume_l: float | None, price: WaterPrice | None) -> Figure | None:
    """Give what a volume costs; None without a price, not known without a volume."""
    if price is None:
        return None
    if volume_l is None:
        return Figure(None, "money", "", "")
    money = volume_l * price.price_per_m3 / 1000.0
    digits = 0 if price.currency in _WHOLE else _CENTS
    return Figure(money, "money", f"{round(money, digits) + 0.0:.{digits}f}", price.currency)


def price_words(plan: WeekPlan, system: UnitSystem) -> str:
    """Say by which price the cost is reckoned and who changes it, or how to state one."""
    price = plan.site.water_price
    if price is None:
        return HOW_TO_PRICE
    amount, _, billed = price.stated.partition("/")
    also = ""
    if (billed == "m³") != (system == "metric"):
        volume, cubic_metres = ("m³", 1.0) if system == "metric" else ("1,000 gal", 1.0 / per_m3(1.0, "kgal"))
        also = f" ({price.price_per_m3 * cubic_metres:,.2f} {price.currency} per {volume})"
    stated = f"{amount} per {_BILLED.get(billed, billed)}{also}"
    return f"Cost at {stated}, as the site file says; whoever keeps that file changes it."
