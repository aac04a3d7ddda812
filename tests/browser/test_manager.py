"""What the manager looks at, in a real browser: from signing in to the printed week, by keyboard, without scripts."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import HOSTILE, sign_in, tab_to

SHOTS = Path(__file__).parent / "shots"
PAGES = {
    "portfolio": "/",
    "week": "/sites/grange",
    "changes": "/sites/grange/changes",
    "water": "/sites/grange/water",
    "station-water": "/sites/grange/water/1",
    "why": "/sites/grange/why/1",
    "door": "/sites/grange/door",
    "hostile": "/sites/hostile",
    "forty": "/sites/forty",
    "refused": "/sites/third",
    "lost": "/nowhere",
    "words": "/words",
    "no-plan": "/sites/planless",
    "no-door": "/sites/clockless/door",
    "first-changes": "/sites/forty/changes",
    "keyed-in": "/sites/grange/keyed-in",
}
WIDTHS_PX = (320, 768, 1280)


def shown(page, name, width_px):
    page.set_viewport_size({"width": width_px, "height": 800})
    page.goto(PAGES.get(name, f"/{name}"))
    SHOTS.mkdir(exist_ok=True)
    page.screenshot(path=SHOTS / f"{name}-{width_px}.png", full_page=True)


@pytest.mark.parametrize("name", ["sign-in", *PAGES])
def test_every_page_is_sound_for_every_reader_at_every_width(page, name):
    """axe finds nothing, and nothing has to be scrolled sideways, also at 320 px."""
    if name != "sign-in":
        sign_in(page)
    for width_px in WIDTHS_PX:
        shown(page, name, width_px)
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width_px, f"{name} is {wide} px wide at {width_px} px"
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()


def test_the_first_view_of_a_page_is_light(page):
    """A phone far out gets 150 kB at most for the page and all it needs, of a week of forty stations too."""
    whole, sizes = [], {}
    sign_in(page)
    page.on("response", lambda each: whole.append(each))  # noqa: PLW0108 - Playwright marks what it calls
    for name, path in PAGES.items():
        whole.clear()
        page.goto(path, wait_until="networkidle")
        sizes[name] = sum(int(each.headers["content-length"]) for each in whole if each.status == 200)
    assert {name: size for name, size in sizes.items() if size > 150_000} == {}


def test_the_manager_gets_to_a_stations_reasons_without_any_script(chromium, running):
    context = chromium.new_context(base_url=running.address, java_script_enabled=False)
    page = context.new_page()
    sign_in(page)
    page.get_by_role("link", name="Thistledown Grange, Cobble Ferry").click()
    page.wait_for_url("**/sites/grange")
    page.get_by_role("link", name=re.compile(r"^Station 1,")).click()
    page.wait_for_url("**/sites/grange/why/1")
    assert "Why: station 1" in page.get_by_role("heading", level=1).inner_text()
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in")
    context.close()


def test_the_manager_needs_no_mouse(page):
    """Tab and Enter alone lead from signing in to the week, and the focus can be seen on every stop."""
    page.goto("/sign-in")
    tab_to(page, "Name")
    page.keyboard.type("mia")
    tab_to(page, "Password")
    page.keyboard.type("turf needs little water at night")
    page.keyboard.press("Enter")
    page.wait_for_url("**/")
    tab_to(page, "Thistledown Grange, Cobble Ferry")
    page.keyboard.press("Enter")
    page.wait_for_url("**/sites/grange")
    tab_to(page, "CSV for a spreadsheet")


def test_hostile_names_are_text(page):
    sign_in(page)
    tails = ("", "/water", "/water/1", "/why/1", "/changes", "/door", "/heat", "/heat?hotter=8", "/keyed-in")
    for path in ("/", *(f"/sites/hostile{tail}" for tail in tails)):
        page.goto(path)
        assert page.title() != "ran"
        assert HOSTILE in page.inner_text("main") + page.inner_text("h1"), path
        assert page.locator("img[onerror]").count() == 0


@pytest.mark.parametrize("form", ["Letter", "A4"])
def test_the_table_of_forty_stations_prints_on_one_sheet(page, form):
    """Chromium itself lays the sheet out; what the table rests on, which follows on sheets after it, is taken away."""
    sign_in(page)
    page.goto("/sites/forty")
    assert page.locator(".key-in tbody tr").count() == 40
    assert page.locator(".key-in .initials").count() >= 40
    page.evaluate("document.querySelectorAll('.pencil ~ *').forEach(each => each.remove())")
    (SHOTS / f"forty-{form}.pdf").write_bytes(printed := page.pdf(format=form, prefer_css_page_size=True))
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", printed)) == 1


def test_seven_nights_fit_a_desks_screen(page):
    sign_in(page)
    page.set_viewport_size({"width": 1280, "height": 800})
    page.goto("/sites/grange")
    assert page.locator(".key-in thead .night").count() == 7
    wide, room = page.eval_on_selector(".box", "box => [box.scrollWidth, box.clientWidth]")
    assert wide <= room


def seen(page, selector):
    """Say of each of the elements whether anything of it is shown."""
    return page.eval_on_selector_all(selector, "all => all.map(each => each.getClientRects().length > 0)")


def test_a_telephone_shows_tonight_and_folds_the_rest_without_any_script(chromium, running):
    context = chromium.new_context(
        base_url=running.address, java_script_enabled=False, viewport={"width": 320, "height": 740}
    )
    page = context.new_page()
    sign_in(page)
    page.goto(PAGES["week"])
    nights = [each.inner_text() for each in page.locator("#night option").all()]
    assert len(nights) == 8  # seven and all
    first_run = page.locator('.key-in tbody td.night[data-at="0"]').first.bounding_box()
    assert first_run["y"] < 1.5 * 740, "tonight is further down than a flick of the thumb"
    assert page.evaluate("document.documentElement.scrollHeight") < 5000
    for picked in range(7):
        page.get_by_label("Night to show").select_option(str(picked))
        shown = [seen(page, f'.key-in tbody td.night[data-at="{at}"]') for at in range(7)]
        assert [any(each) for each in shown] == [at == picked for at in range(7)]
        assert all(shown[picked])
    page.get_by_label("Night to show").select_option("all")
    assert all(seen(page, ".key-in tbody td:not(:empty)"))
    assert not page.locator(".starts").first.is_visible()
    page.get_by_text("Order of starts, " + nights[0]).click()
    assert seen(page, ".starts") == [True, *[False] * 6]
    context.close()


def test_what_is_folded_is_sound_when_it_is_opened(page):
    sign_in(page)
    for width_px in WIDTHS_PX[:2]:
        page.set_viewport_size({"width": width_px, "height": 800})
        for path in ("/sites/grange", "/sites/forty"):
            page.goto(path)
            page.get_by_label("Night to show").select_option("all")
            for fold in page.locator(".fold").all():
                fold.check()
            assert all(seen(page, "main section > *"))
            assert page.evaluate("document.documentElement.scrollWidth") <= width_px
            page.screenshot(path=SHOTS / f"{path.rpartition('/')[2]}-unfolded-{width_px}.png", full_page=True)
            found = Axe().run(page)
            assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("width_px", [320, 1280])
def test_paper_has_everything_that_a_telephone_folds(page, width_px):
    sign_in(page)
    page.set_viewport_size({"width": width_px, "height": 740})
    page.goto("/sites/grange")
    page.emulate_media(media="print")
    assert seen(page, ".fold, .pick") == [False] * len(seen(page, ".fold, .pick"))
    assert all(seen(page, "section:not(.screen), section:not(.screen) *:not(.fold, col)"))
    assert all(seen(page, ".key-in td.night, .key-in th.night, .key-in td.sum, .initials, .pencil"))
