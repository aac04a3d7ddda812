"""The form of a visit opens again without a signal, for the person who opened it and for nobody else."""

import re

import pytest
from playwright.sync_api import Error, expect

from tests.browser.conftest import PASSWORD, sign_in
from tests.browser.visit_typing import assert_is_first_visit, halves, kept, lay_out, type_in

FORM = "/sites/grange/visit"
ALL_KEPT = """async () => {
  const found = [];
  for (const name of await caches.keys()) {
    for (const request of await (await caches.open(name)).keys()) found.push(request.method + " " + request.url);
  }
  return found.map((each) => each.replace(location.origin, ""));
}"""


@pytest.fixture
def opened(phone):
    """The form is on the telephone and is kept there."""
    phone.goto(FORM)
    until_kept(phone)
    return phone


def until_kept(page):
    page.wait_for_function("async path => Boolean(await caches.match(path))", arg=FORM)


def opens_offline(page, path=FORM):
    """Say whether an address opens in a new page without a signal."""
    page.context.set_offline(True)
    other = page.context.new_page()
    try:
        other.goto(path)
    except Error:  # the browser's own page of no network
        return False
    else:
        return other.url.endswith(path)
    finally:
        other.close()
        page.context.set_offline(False)


def test_the_first_visit_is_recorded_although_its_page_was_closed_without_a_signal(
    opened, running, record, root, unsaid
):
    first, rest = halves(record)
    lay_out(opened, record)
    type_in(opened, first)
    opened.context.set_offline(True)
    names = sorted(rest)
    type_in(opened, {name: rest[name] for name in names if name < "head"})
    opened.close()
    assert kept(running) == []

    again = opened.context.new_page()
    again.set_default_timeout(10_000)
    again.goto(FORM)
    again.get_by_text("The draft that this telephone kept is filled in.").wait_for()
    assert again.locator('[name="visit.technician"]').input_value() == record["visit.technician"]
    assert again.locator("#cups-0 svg circle").count() == 24  # 4 rows of 6
    assert again.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    type_in(again, {name: rest[name] for name in names if name >= "head"})
    again.evaluate("location.hash = 'verdict'")
    again.get_by_role("button", name="Send the visit").click()
    again.get_by_text("it is sent when the signal is back").wait_for()
    assert kept(running) == []
    again.context.set_offline(False)
    again.wait_for_url("**/visits/*")
    (visit,) = kept(running)
    assert_is_first_visit(visit, root)
    assert again.evaluate("Object.keys(localStorage)") == []


def test_nothing_but_the_form_and_its_files_is_kept(opened):
    for path in ("/", "/sites/grange", "/sites/grange/water/1", FORM):
        opened.goto(path)
    opened.evaluate("fetch('/v1/sites')")
    opened.get_by_role("button", name="Verdict so far").click()
    opened.wait_for_url(f"**{FORM}#verdict")
    found = {re.sub("-[0-9a-f]{16}", "", each) for each in opened.evaluate(ALL_KEPT)}
    files = {f"GET /static/{name}" for name in ("etsched.css", "icon.svg", "visit.css", "visit.js")}
    assert found == {f"GET {FORM}", *files}
    assert [opens_offline(opened, path) for path in (FORM, "/", "/sites/grange")] == [True, False, False]


def test_who_signs_out_leaves_nothing_behind(opened):
    opened.get_by_role("button", name="Sign out").click()
    opened.wait_for_url("**/sign-in")
    assert opened.evaluate(ALL_KEPT) == []
    assert not opens_offline(opened)
    sign_in(opened, "mia")
    assert not opens_offline(opened)


def test_signing_out_without_a_signal_leaves_nothing_either(opened):
    opened.context.set_offline(True)
    opened.get_by_role("button", name="Sign out").click()
    opened.wait_for_url(re.compile("sign-out|chrome-error"))
    assert not opens_offline(opened)


def test_who_signs_in_next_never_sees_the_page_of_the_one_before(opened):
    """Without signing out, as when a telephone is handed on."""
    sign_in(opened, "mia")
    assert opened.evaluate(ALL_KEPT) == []
    opened.goto(FORM)
    until_kept(opened)
    opened.context.set_offline(True)
    opened.goto(FORM)
    assert "mia" in opened.locator(".out").inner_text()


def test_a_session_that_is_over_takes_the_page_with_it(opened):
    opened.context.clear_cookies()
    opened.goto(FORM)
    opened.wait_for_url("**/sign-in**")
    assert not opens_offline(opened)


def test_a_draft_is_shown_to_who_typed_it(opened):
    opened.locator('[name="visit.technician"]').fill("Ann Vale")
    opened.reload()
    assert opened.locator('[name="visit.technician"]').input_value() == "Ann Vale"
    for name, typed in (("mia", ""), ("tom", "Ann Vale")):
        opened.get_by_role("button", name="Sign out").click()
        sign_in(opened, name)
        opened.goto(FORM)
        assert opened.locator('[name="visit.technician"]').input_value() == typed


def test_without_workers_the_form_works_as_before(chromium, running):
    """Over plain HTTP to another machine a browser has none."""
    context = chromium.new_context(base_url=running.address, service_workers="block")
    page = context.new_page()
    wrong = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto("/sign-in")
    page.get_by_label("Name").fill("tom")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.goto(FORM)
    expect(page.locator("#visit")).to_be_visible()
    assert wrong == []
    context.close()
