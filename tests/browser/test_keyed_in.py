"""Saying that the door paper is in the clock: by keyboard alone, without any script, and taking it back."""

import pytest

from etsched.stores import plans
from etsched.stores.schema import tables_keyed_in
from tests.browser.conftest import sign_in, tab_to
from tests.browser.test_more_looks import assert_sound
from tests.web.conftest import TODAY


@pytest.fixture
def nobody_said(running):
    yield
    with running.service.database.writing() as writing:
        writing.execute(tables_keyed_in.delete())


def latest(running):
    with running.service.database.reading() as reading:
        return plans.latest_head(reading, "grange")


def assert_kept(page, running, name):
    page.wait_for_url("**/sites/grange/keyed-in")
    told = page.inner_text("main")
    revision = latest(running).revision
    assert f"The door paper of plan {revision} is in the clock since the night of Mon Jul 13, {name} said." in told
    assert "and its water is counted" in told
    with running.service.database.reading() as reading:
        keyed = plans.keyed_in_on(reading, "grange", TODAY)
    assert (keyed.since, keyed.plan_revision, keyed.actor) == (TODAY, revision, f"user {name}")


def test_the_keyboard_alone_says_it(page, running, nobody_said):
    sign_in(page)
    page.goto("/sites/grange/door")
    tab_to(page, "All of it is in the clock", 120)
    page.keyboard.press("Enter")
    assert_kept(page, running, "mia")
    assert_sound(page)
    page.goto("/sites/grange/door")
    assert_sound(page)


def test_without_a_script_on_a_telephone(chromium, running, nobody_said):
    context = chromium.new_context(
        base_url=running.address, java_script_enabled=False, viewport={"width": 360, "height": 740}
    )
    page = context.new_page()
    sign_in(page, "tom")
    page.goto("/sites/grange/door")
    page.get_by_role("button", name="All of it is in the clock").click()
    assert_kept(page, running, "tom")
    page.goto("/sites/grange/door")
    assert "Nothing: the clock holds this table already." in page.inner_text("main")
    page.goto("/sites/grange/keyed-in")
    page.get_by_role("button", name="Take that back").click()
    assert "Nobody has said yet what is in the clock." in page.inner_text("main")
    context.close()


def test_a_night_that_lies_ahead_is_refused_beside_its_field(page, running, nobody_said):
    sign_in(page)
    page.goto("/sites/grange/door")
    page.get_by_label("First night that runs by it").fill("2026-07-14")
    page.get_by_role("button", name="All of it is in the clock").click()
    assert "lies ahead" in page.get_by_role("alert").inner_text()
    assert page.get_by_label("First night that runs by it").input_value() == "2026-07-14"
    assert_sound(page)
    with running.service.database.reading() as reading:
        assert plans.keyed_in_on(reading, "grange", TODAY) is None
