"""The technician on a telephone of 360 px: the demo's first visit, the signal gone in the middle, sent once."""

import re

import pytest
from playwright.sync_api import expect

from etsched.documents.site_file import parse_site
from etsched.documents.visit_file import parse_visit
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
    phone.get_by_text("it is sent when the signal is back").wait_for()
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


def test_every_change_is_said_to_be_kept_and_the_form_goes_on_where_one_was(phone):
    phone.goto("/sites/grange/visit")
    phone.get_by_label("Who is here").fill("Ann Vale")
    phone.get_by_text(re.compile(r"^Kept on this telephone, \d?\d:\d\d")).wait_for()
    phone.evaluate("location.hash = 'run-5'")
    phone.goto("/")
    phone.goto("/sites/grange/visit")
    expect(phone.get_by_role("heading", name="Station 5:")).to_be_visible()
    expect(phone.get_by_text("The draft that this telephone kept is filled in.")).to_be_visible()


def test_a_lost_signal_is_said_at_once_and_taken_away_at_once(phone):
    phone.goto("/sites/grange/visit#run-5")
    signal = phone.locator("#signal")
    expect(signal).to_have_text("")
    phone.context.set_offline(True)
    expect(signal).to_have_text(re.compile("^No signal: what you type is kept on this telephone"))
    phone.evaluate("location.hash = 'core-0'")
    phone.locator('[name="core.0.note"]').fill("under the oak")
    expect(signal).to_be_in_viewport()
    phone.get_by_role("button", name="Verdict so far").click()
    expect(signal).to_have_text(re.compile("the verdict comes from the service"))
    phone.context.set_offline(False)
    expect(signal).to_have_text("")
    # A network that leads nowhere never says that it is gone: its sentence goes with the next screen.
    phone.route("**/visit", lambda route: route.abort())
    phone.get_by_role("button", name="Verdict so far").click()
    expect(signal).to_have_text(re.compile("the verdict comes from the service"))
    phone.evaluate("location.hash = 'verdict'")
    expect(signal).to_have_text("")


def test_the_list_of_steps_closes_and_marks_what_is_filled_in(phone):
    phone.goto("/sites/grange/visit")
    steps = phone.locator(".visit-tools")
    steps.get_by_text("All steps").click()
    cores = steps.get_by_role("link", name="Soil cores")
    expect(cores.get_by_text("filled in")).to_be_hidden()
    cores.click()
    expect(cores).to_be_hidden()
    phone.locator('[name="core.0.moist"]').fill("2")
    phone.locator("#core-0 [data-more]").click()
    phone.locator('[name="core.1.moist"]').fill("3")
    steps.get_by_text("All steps").click()
    # Two cores; nothing of a program.
    expect(steps.get_by_role("link", name="Soil cores filled in 2")).to_be_visible()
    expect(steps.get_by_role("link", name="Programs", exact=True)).to_be_visible()
    steps.get_by_role("link", name="Verdict, and send").click()
    expect(phone.locator(".holds li", has_text="Soil cores")).to_be_visible()
    expect(phone.locator(".holds li", has_text="Programs")).to_be_hidden()
    assert phone.locator("#core-0 [data-more]").count() == 1  # from every core there is a way to one more


def test_stations_are_tapped_by_their_numbers(phone):
    phone.goto("/sites/grange/visit#clock")
    stations = phone.get_by_role("navigation", name="Stations")
    expect(stations).to_be_hidden()
    phone.evaluate("location.hash = 'run-1'")
    phone.locator('#run-1 [name="run.1.from_controller"][value="yes"]').check()
    stations.locator('[href="#run-12"]').click()
    expect(phone.get_by_role("heading", name="Station 12:")).to_be_in_viewport()
    expect(stations.locator('[href="#run-12"]')).to_be_in_viewport()
    expect(stations.locator('[aria-current="true"]')).to_have_text(re.compile("12"))
    expect(stations.locator('[href="#run-1"] [data-holds]')).to_be_visible()
    expect(stations.locator('[href="#run-12"] [data-holds]')).to_be_hidden()


def test_what_is_to_be_mended_stands_before_the_fold(phone):
    phone.goto("/sites/grange/visit#run-12")
    phone.locator('[name="run.12.leak"]').fill("split riser")
    phone.evaluate("location.hash = 'recovery'")
    expect(phone.locator('[name="recovery.repaired_on.12"]')).to_be_visible()
    expect(phone.locator('[name="recovery.repaired_on.11"]')).to_be_hidden()


def test_a_visit_is_corrected_in_its_place(phone, running, unsaid, root):
    document = (root / "demo" / "visit-1.toml").read_text("utf-8")
    visit = record_visit(running.service, "grange", document, "test")
    phone.goto(f"/sites/grange/visits/{visit.visit}")
    phone.get_by_role("link", name="Correct this visit").click()
    phone.get_by_text("as it is kept. What you send takes its place.").wait_for()
    assert phone.evaluate("Object.keys(localStorage)") == []
    phone.evaluate("location.hash = 'area-1'")
    phone.locator('#area-1 [value="footprints stay"]').uncheck()
    phone.get_by_text("Kept on this telephone").wait_for()
    phone.reload()
    expect(phone.locator('#area-1 [value="footprints stay"]')).not_to_be_checked()
    phone.evaluate("location.hash = 'verdict'")
    phone.get_by_role("button", name="Send the visit").click()
    phone.get_by_text("This visit is recorded").wait_for()
    (corrected,) = kept(running)
    site = parse_site((root / "demo" / "site.toml").read_text("utf-8"), "site")
    before, after = (parse_visit(text, "visit", site, TODAY) for text in (document, corrected.document))
    assert [area.signs for area in before.areas if area.name == "Great lawn, north"] == [("footprints_stay",)]
    assert [area.signs for area in after.areas if area.name == "Great lawn, north"] == [()]
    assert (len(after.cores), len(after.runs), after.cup_tests) == (10, 14, before.cup_tests)


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
    page.get_by_role("button", name="Verdict so far").click()
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


SCREENS = ("visit", "clock", "program-0", "area-0", "run-5", "head-0", "electrical-0", "cups-0", "core-0", "recovery",
           "verdict")  # fmt: skip
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
