"""Volumes and costs as they are read: what is not known once, and money in the decimals that its currency has."""

import pytest

from etsched.model.site import WaterPrice
from etsched.tables.figure import figure
from etsched.tables.volume import Volume, cost_of


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
