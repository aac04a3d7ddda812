"""Pages that a person comes to by doing something: they too are sound, from 320 px on, whatever names they show."""

from dataclasses import replace

import pytest
from axe_playwright_python.sync_playwright import Axe

from etsched.usecases.properties import put_away, put_site
from etsched.usecases.record_visit import record_visit
from etsched.web.app import make_app
from etsched.web.limits import Limits
from tests.browser.conftest import HOSTILE, PASSWORD, _on_loopback, sign_in
from tests.browser.visit_typing import type_in
from tests.usecases.made import site_text
from tests.web.conftest import StandingClock

WIDTHS_PX = (320, 1280)
OF_A_LIST = 50


def assert_sound(page):
    """Axe finds nothing, and nothing has to be scrolled sideways."""
    for width_px in WIDTHS_PX:
        page.set_viewport_size({"width": width_px, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width_px
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()


def try_password(page, word):
    page.get_by_label("Name").fill("mia")
    page.get_by_label("Password").fill(word)
    with page.expect_response("**/sign-in") as answer:
        page.get_by_role("button", name="Sign in").click()
    page.wait_for_load_state()
    return answer.value


def test_signing_in_with_an_error(page):
    page.goto("/sign-in")
    assert try_password(page, "not the password").status == 403
    assert "do not fit together" in page.get_by_role("alert").inner_text()
    assert page.get_by_label("Name").input_value() == "mia"
    assert_sound(page)


def test_too_many_tries_are_told_how_long_to_wait(chromium, running):
    clock = StandingClock()
    app = make_app(replace(running.service, clock=clock), Limits(failed_tries_a_minute=2))
    with _on_loopback(app) as address:
        context = chromium.new_context(base_url=address)
        page = context.new_page()
        page.goto("/sign-in")
        statuses = [try_password(page, word).status for word in ("wrong", "wrong")]
        refused = try_password(page, PASSWORD)
        assert (*statuses, refused.status) == (403, 403, 429)
        assert refused.headers["retry-after"] == "60"
        assert "Wait 60 seconds" in page.get_by_role("alert").inner_text()
        assert_sound(page)
        context.close()


@pytest.fixture
def many(running):
    """More properties than a page of the list holds; nothing is planned for them, and then they are put away."""
    names = [f"meadow-{number}" for number in range(OF_A_LIST)]
    for name in names:
        put_site(running.service, name, site_text().replace("Quillmere", name), "test")
    yield
    for name in names:
        put_away(running.service, name, "test")


def test_a_list_of_several_pages(page, many):
    sign_in(page, "ada")
    assert_sound(page)
    assert page.locator("tbody tr").count() == OF_A_LIST
    page.get_by_role("link", name="Next page").click()
    page.wait_for_url("**/?page=2")
    page.get_by_text("Page 2 of 2").wait_for()
    assert 0 < page.locator("tbody tr").count() < OF_A_LIST
    assert_sound(page)


def test_a_visit_that_cannot_be_used_yet(phone):
    phone.goto("/sites/grange/visit#core-0")
    type_in(phone, {"core.0.area": "Courtyard", "core.0.depth": "eight"})
    phone.get_by_role("button", name="Verdict so far").click()
    phone.locator("#verdict [role=alert]").wait_for()
    assert "Soil core 1, The core reached" in phone.locator("#verdict [role=alert]").inner_text()
    assert_sound(phone)


def test_a_visit_with_a_verdict(phone, record):
    phone.goto("/sites/grange/visit#area-0")
    area = {name: value for name, value in record.items() if name.startswith("area.0.")}
    type_in(phone, area | {"core.0.area": "Courtyard", "core.0.moist": "1.5"})
    phone.get_by_role("button", name="Verdict so far").click()
    phone.locator("#verdict").get_by_text("All that it tells").click()
    phone.locator("#verdict").get_by_role("heading", name="Why it fails").wait_for()
    assert_sound(phone)


VISIT = """
date = 2026-07-13
technician = {name}
notes = [{name}]
photos = [{name}]

[[area]]
name = {name}
colour = "brown"
signs = ["probe stops"]

[[core]]
area = {name}
moist = "1.5 in"
"""


def test_hostile_names_are_text_on_a_recorded_visit_and_its_sheet(page, running, unsaid):
    written = '"' + HOSTILE.replace('"', '\\"') + '"'
    visit = record_visit(running.service, "hostile", VISIT.format(name=written), "test")
    sign_in(page)
    for tail in ("", "/sheet"):
        page.goto(f"/sites/hostile/visits/{visit.visit}{tail}")
        assert page.title() != "ran"
        assert HOSTILE in page.locator("body").inner_text()
        assert page.locator("img[onerror], body script").count() == 0
        assert_sound(page)
