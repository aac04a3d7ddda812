"""The price of water, by definition: 1 gal = 231 in³ and 1 in = 25.4 mm, so 1 kgal = 3.785411784 m³."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic_core import PydanticCustomError

from etsched.documents.price import Price


@pytest.mark.parametrize(
    ("typed", "price_per_m3", "currency", "stated"),
    [
        ("4.10 USD/kgal", 4.10 / 3.785411784, "USD", "4.10 USD/kgal"),
        ("4.1usd/KGAL", 4.1 / 3.785411784, "USD", "4.1 USD/kgal"),
        (" 3.07 USD per CCF ", 3.07 / 2.8316846592, "USD", "3.07 USD/CCF"),
        ("3.07 CAD / hcf", 3.07 / 2.8316846592, "CAD", "3.07 CAD/HCF"),
        ("1.08 EUR/m3", 1.08, "EUR", "1.08 EUR/m³"),
        (".5 EUR/m³", 0.5, "EUR", ".5 EUR/m³"),
    ],
)
def test_reads_what_stands_on_bills(typed, price_per_m3, currency, stated):
    read = Price().read(typed)
    assert read.price_per_m3 == pytest.approx(price_per_m3, rel=1e-12)
    assert (read.currency, read.stated) == (currency, stated)


def test_the_examples_are_read():
    assert all(Price().read(each).price_per_m3 > 0 for each in Price().schema()["examples"])


@given(st.one_of(st.text(), st.from_regex(r"[+-]?[0-9.]{0,4} ?[A-Z$]{0,4} ?/? ?(kgal|CCF|m3|x)?"), st.floats()))
def test_anything_is_a_price_above_zero_or_refused_in_a_sentence(raw):
    try:
        assert Price().read(raw).price_per_m3 > 0
    except PydanticCustomError as error:
        refused = error.context
    else:
        return
    assert refused["wrong"]
    assert refused["remedy"]


def test_a_long_text_is_refused_at_once():
    with pytest.raises(PydanticCustomError, match="no price"):
        Price().read("1" + " " * 100_000 + "x")


@pytest.mark.parametrize("typed", ["４.１０ USD/kgal", "٤.١٠ USD/kgal", "4.1０ USD/kgal"])
def test_digits_of_other_scripts_are_refused(typed):
    with pytest.raises(PydanticCustomError, match=r"price|currency"):
        Price().read(typed)


@pytest.mark.parametrize("typed", ["0.0000000001 USD/kgal", "0.00009 EUR/m3", "0.0003 USD/kgal"])
def test_a_price_that_rounds_every_cost_to_nothing_is_refused(typed):
    with pytest.raises(PydanticCustomError, match=r"less than 0\.0001 a cubic metre"):
        Price().read(typed)


def test_the_least_price_is_read():
    assert Price().read("0.0001 EUR/m3").price_per_m3 == 0.0001
