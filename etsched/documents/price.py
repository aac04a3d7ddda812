"""The price of water as people write it: an amount, a currency and a volume, such as `"4.10 USD/kgal"`."""

from __future__ import annotations

import re
from typing import Annotated

from etsched.documents.reader import Json, Reader
from etsched.documents.refusals import refuse, shown, written_out
from etsched.model.site import WaterPrice
from etsched.units import BILLED, per_m3

_PRICE = re.compile(r"\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))\s*([^/]*?)\s*(?:(?:/|\bper\b)\s*(.*?)\s*)?", re.DOTALL)
_CURRENCY = re.compile(r"[A-Za-z]{3}")
_EXAMPLES = ("4.10 USD/kgal", "3.07 USD/CCF", "1.08 EUR/m3")
_SUCH_AS = written_out(_EXAMPLES)
_WRITE = f"write {_SUCH_AS}"
_LONGEST = 60
_MOST = 1.0e6  # a cubic metre; wide, since some currencies count in thousands (common practice, no source)
# Less is a slip of the pen: a week's water of a large property would cost nothing (common practice, no source).
_LEAST = 1.0e-4
_VOLUMES = {**{each.casefold(): each for each in BILLED}, "m3": "m³"}


class Price(Reader):
    """What one more volume of water costs."""

    def schema(self) -> Json:
        """Describe the text."""
        words = "An amount above 0, a currency of three letters, and the volume: kgal, CCF or m3."
        return {"title": "Price of water", "description": words, "type": "string", "examples": [*_EXAMPLES]}

    def read(self, raw: object) -> WaterPrice:
        """Read the three parts; whatever is missing or unknown is named."""
        if not isinstance(raw, str):
            raise refuse(f"{shown(raw)} names no currency and no volume", f"write it in quotes, such as {_SUCH_AS}")
        if re.search(r"\d,\d", raw):
            raise refuse(f"{shown(raw)} holds a comma", f"write a decimal point and no commas, such as {_SUCH_AS}")
        match = _PRICE.fullmatch(raw) if len(raw) <= _LONGEST else None
        if match is None:
            raise refuse(f"{shown(raw)} is no price that begins with its amount", _WRITE)
        amount, currency, volume = match[1], match[2], match[3]
        if not currency:
            raise refuse(f"{shown(raw)} names no currency", _WRITE)
        if not volume:
            raise refuse(f"{shown(raw)} does not say of which volume", _WRITE)
        if not _CURRENCY.fullmatch(currency):
            raise refuse(f"{shown(currency)} is no currency of three letters", _WRITE)
        billed = _VOLUMES.get(volume.casefold())
        if billed is None:
            raise refuse(f"{shown(volume)} is no volume that water is billed by", _WRITE)
        return _within(raw, WaterPrice(per_m3(float(amount), billed), currency.upper(), _stated(match, billed)))


def _stated(match: re.Match[str], billed: str) -> str:
    return f"{match[1].removeprefix('+')} {match[2].upper()}/{billed}"


def _within(raw: str, price: WaterPrice) -> WaterPrice:
    if price.price_per_m3 < 0:
        raise refuse(f"{shown(raw)} is less than zero", "write what one more volume of water costs")
    if price.price_per_m3 == 0:
        raise refuse(f"{shown(raw)} is zero", "write what one more volume costs, or take [water] out")
    if price.price_per_m3 < _LEAST:
        raise refuse(f"{shown(raw)} is less than {_LEAST:.4f} a cubic metre", "look at the amount and at the volume")
    if price.price_per_m3 > _MOST:
        raise refuse(f"{shown(raw)} is more than a million a cubic metre", "look at the amount and at the volume")
    return price


PriceIn = Annotated[WaterPrice, Price()]
