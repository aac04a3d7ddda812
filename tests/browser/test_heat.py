"""The heat check as a person asks it: fields filled and Check pressed, by mouse, by keyboard, without a script."""

import pytest

from etsched.tables.heat_check import heat_table
from etsched.usecases.kept_heat import Hotter, heat_of
from tests.browser.conftest import sign_in, tab_to

HOTTER, DAYS = "Hotter than forecast by °F", "For how many days"


@pytest.fixture(scope="module")
def expected(running):
    """What the use case says of 9 °F, which are 9 × 5/9 = 5 °C, for four days."""
    return heat_table(heat_of(running.service, "grange", Hotter(5.0, 4)))


def assert_told(page, table):
    told = page.inner_text("main")
    for words in (table.heading, table.spell, *table.verdict, *table.steps, table.back):
        assert words in told
    shown = page.get_by_role("region", name="Stations in the heat")
    assert shown.locator("tbody tr").count() == len(table.rows)


@pytest.mark.parametrize("scripts", [True, False])
def test_fields_are_filled_and_check_is_pressed(chromium, running, expected, scripts):
    context = chromium.new_context(base_url=running.address, java_script_enabled=scripts)
    page = context.new_page()
    sign_in(page, "tom")
    page.goto("/sites/grange")
    page.get_by_role("link", name="Heat check").click()
    page.wait_for_url("**/heat")
    assert expected.spell not in page.inner_text("main")
    page.get_by_label("Hotter than forecast by").fill("9")
    page.get_by_label(DAYS).fill("4")
    page.get_by_role("button", name="Check").click()
    page.wait_for_url("**/heat?hotter=9&days=4&first=")
    assert_told(page, expected)
    # What was asked stands in the fields, so that it can be asked anew with one figure changed.
    assert page.get_by_label("Hotter than forecast by").input_value() == "9"
    context.close()


def test_the_keyboard_alone_asks_and_is_told(page, expected):
    sign_in(page)
    page.goto("/sites/grange/heat")
    tab_to(page, HOTTER)
    page.keyboard.type("9")
    tab_to(page, DAYS)
    page.keyboard.type("4")
    tab_to(page, "Check")
    page.keyboard.press("Enter")
    page.wait_for_url("**/heat?hotter=9&days=4&first=")
    assert_told(page, expected)


def test_what_cannot_be_read_is_said_and_stays_to_be_mended(page, expected):
    sign_in(page)
    page.goto("/sites/grange/heat")
    page.get_by_label("Hotter than forecast by").fill("warm")
    page.get_by_role("button", name="Check").click()
    assert "Nothing was checked" in page.get_by_role("alert").inner_text()
    described = page.get_by_label("Hotter than forecast by").get_attribute("aria-describedby").split()
    assert "no such number of degrees" in page.locator(f"#{described[-1]}").inner_text()
    assert page.get_by_label("Hotter than forecast by").input_value() == "warm"
    page.get_by_label("Hotter than forecast by").fill("9")
    page.get_by_label(DAYS).fill("4")
    page.get_by_label(DAYS).press("Enter")
    page.wait_for_url("**/heat?hotter=9&days=4&first=")
    assert_told(page, expected)
