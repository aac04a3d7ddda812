"""Volumes and costs as they are read: what is not known once, and money in the decimals that its currency has."""

from dataclasses import replace

import pytest

from etsched.model.site import WaterPrice
from etsched.tables.figure import figure
from etsched.tables.volume import Volume, cost_of, price_words
from tests.reports.sample_week import sample_week


@pytest.mark.parametrize(
    ("currency", "volume_l", "text"),
    [("USD", 12_345.0, "12.35 USD"), ("JPY", 12_345.0, "12 JPY"), ("KRW", 1_234_567.0, "1,235 KRW")],
)
def test_money_has_the_decimals_of_its_currency(currency, volume_l, text):
    assert cost_of(volume_l, WaterPrice(1.0, currency, "as stated")).text == text


def test_what_is_not_known_is_said_once():
    price = WaterPrice(1.0, "USD", "as stated")
    unknown = Volume(figure(None, "l", "metric"), (1, 2), cost_of(None, price))
    assert unknown.paid_text == "water not known"
    some = Volume(figure(2000.0, "l", "metric"), (2,), cost_of(2000.0, price))
    assert some.paid_text == "at least 2,000 L (flow of 1 station not known), at least 2.00 USD"
    assert Volume(figure(2000.0, "l", "metric"), ()).paid_text == "2,000 L"


@pytest.mark.parametrize(
    ("price", "system", "said"),
    [
        # 1,000 gal are 3.785411784 m³.
        (WaterPrice(1.373695, "USD", "5.20 USD/kgal"), "us", "5.20 USD per 1,000 gal"),
        (WaterPrice(1.373695, "USD", "5.20 USD/kgal"), "metric", "5.20 USD per 1,000 gal (1.37 USD per m³)"),
        (WaterPrice(2.0, "EUR", "2 EUR/m³"), "metric", "2 EUR per m³"),
        (WaterPrice(2.0, "EUR", "2 EUR/m³"), "us", "2 EUR per m³ (7.57 EUR per 1,000 gal)"),
        (WaterPrice(1.084, "USD", "3.07 USD/CCF"), "us", "3.07 USD per 100 cubic feet (CCF)"),
    ],
)
def test_a_price_is_told_as_the_file_has_it_and_in_the_readers_units(price, system, said):
    plan = sample_week()
    told = price_words(replace(plan, site=replace(plan.site, water_price=price)), system)
    assert told == f"Cost at {said}, as the site file says; whoever keeps that file changes it."
