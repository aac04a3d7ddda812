"""The technician on a telephone of 360 px: the demo's first visit, the signal gone in the middle, sent once."""

import pytest

from etsched.usecases.record_visit import record_visit
from tests.browser.conftest import HOSTILE, sign_in
from tests.browser.visit_typing import LAYOUT, PHONE, assert_is_first_visit, halves, kept, lay_out, type_in
from tests.web.conftest import TODAY

axe_playwright = pytest.importorskip("axe_playwright_python.sync_playwright")


def test_the_first_visit_is_recorded_although_the_signal_drops(phone, running, record, unsaid):
    phone.goto("/sites/grange/visit")
    first, rest = halves(record)
    lay_out(phone, record)
    type_in(phone, first)
    phone.context.set_offline(True)
    type_in(phone, rest)
    assert phone.locator("#cups-0 svg circle").count() == 24  # 4 rows of 6
    phone.evaluate("location.hash = 'verdict'")
    send = phone.get_by_role("button", name="Send the visit")
    send.click()
    phone.get_by_text("No signal. The visit is kept").wait_for()
    assert kept(running) == []
    phone.context.set_offline(False)
    phone.wait_for_url("**/visits/*")
    phone.get_by_text("This visit is recorded").wait_for()
    (visit,) = kept(running)
    assert visit.day == TODAY
    assert [each for each in phone.errors if "ERR_INTERNET_DISCONNECTED" not in each] == []


def test_what_was_recorded_is_the_demo_visit(phone, running, record, root, unsaid):
    phone.goto("/sites/grange/visit")
    lay_out(phone, record)
    type_in(phone, {name: value for name, value in record.items() if name.split(".")[-1] not in LAYOUT})
    phone.evaluate("location.hash = 'verdict'")
    phone.get_by_role("button", name="Send the visit").dblclick()
    phone.wait_for_url("**/visits/*")
    (visit,) = kept(running)
    assert_is_first_visit(visit, root)


def test_a_draft_outlives_the_page(phone):
    phone.goto("/sites/grange/visit#core-0")
    phone.locator("#core-0 [data-more]").click()
    type_in(phone, {"core.1.moist": "2.5", "core.1.colour": "brown"})
    phone.reload()
    assert phone.locator('[name="core.1.moist"]').input_value() == "2.5"
    assert phone.locator('[name="core.1.colour"][value="brown"]').is_checked()


def test_a_form_that_nobody_touched_leaves_no_draft(phone):
    phone.goto("/sites/grange/visit")
    phone.reload()
    assert phone.locator("#signal").inner_text() == ""
    assert phone.evaluate("Object.keys(localStorage)") == []
    phone.goto("/sites/grange/visit#clock")
    phone.locator('#clock [value="bypassed"]').check()
    phone.reload()
    phone.get_by_text("The draft that this telephone kept is filled in.").wait_for()


def test_the_map_grows_as_cups_are_typed(phone):
    phone.goto("/sites/grange/visit#cups-0")
    phone.locator('[name="cups.0.rows.0.0"]').fill("30")
    phone.locator('[name="cups.0.rows.0.1"]').fill("10")
    # (30 + 10) / 2 = 20.
    phone.get_by_text("2 cups, mean 20.0").wait_for()
    radii = [float(each.get_attribute("r")) for each in phone.locator("#cups-0 .cup-map circle").all()[:2]]
    assert radii[0] > radii[1]


def test_without_a_script_a_visit_is_recorded_screen_by_screen(chromium, running, unsaid):
    context = chromium.new_context(base_url=running.address, viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    sign_in(page, "tom")
    page.goto("/sites/grange/visit")
    assert page.locator("section.step:visible").count() == 1
    page.get_by_label("Who is here").fill("Ann Vale")
    page.locator("#visit .next").click()
    page.locator("#clock").wait_for()
    page.locator('#clock [value="bypassed"]').check()
    page.goto(page.url.split("#")[0] + "#core-0")
    page.locator('[name="core.0.area"]').fill("Courtyard")
    page.locator('[name="core.0.moist"]').fill("1.5")
    page.locator("#core-0 [data-more]").click()
    page.locator("#core-1").wait_for()
    assert page.locator('[name="core.0.moist"]').input_value() == "1.5"
    page.get_by_role("button", name="What does it tell so far?").click()
    page.locator("#verdict").wait_for()
    page.get_by_role("button", name="Send the visit").click()
    page.wait_for_url("**/visits/*")
    assert len(kept(running)) == 1
    context.close()


def test_hostile_names_are_text(phone):
    phone.goto("/sites/hostile/visit")
    assert phone.title().startswith("Visit: " + HOSTILE[:8])
    assert phone.get_by_role("heading", level=1).inner_text().startswith("Visit: " + HOSTILE[:8])


def shown_at(page, path, width):
    page.set_viewport_size({"width": width, "height": 740})
    page.goto(path)


SCREENS = ("visit", "clock", "program-0", "area-0", "run-5", "head-0", "electrical-0", "cups-0", "core-0", "verdict")
PATHS = [*(f"/sites/grange/visit#{screen}" for screen in SCREENS), "/sites/grange/heat", "/sites/grange/heat?hotter=8"]


@pytest.fixture(scope="module")
def looked_at(root):
    folder = root / "tests" / "browser" / "shots"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.mark.parametrize("path", PATHS)
def test_every_screen_fits_and_breaks_no_rule_of_access(phone, path, looked_at):
    for width in (320, 768, 1280):
        shown_at(phone, path, width)
        assert phone.evaluate("document.documentElement.scrollWidth") <= width
        name = path.replace("/sites/grange/", "").replace("#", "-").replace("?", "-")
        phone.screenshot(path=looked_at / f"{name}-{width}.png", full_page=True)
    found = axe_playwright.Axe().run(phone)
    assert found.violations_count == 0, found.generate_report()


def test_the_recorded_visit_and_its_sheet_fit(phone, root, looked_at, running, unsaid):
    document = (root / "demo" / "visit-1.toml").read_text("utf-8")
    visit = record_visit(running.service, "grange", document, "test")
    for path in (f"/sites/grange/visits/{visit.visit}", f"/sites/grange/visits/{visit.visit}/sheet"):
        for width in (320, 768, 1280):
            shown_at(phone, path, width)
            assert phone.evaluate("document.documentElement.scrollWidth") <= width
            phone.screenshot(path=looked_at / f"recorded-{path.endswith('sheet')}-{width}.png", full_page=True)
        found = axe_playwright.Axe().run(phone)
        assert found.violations_count == 0, found.generate_report()
    assert phone.errors == []
