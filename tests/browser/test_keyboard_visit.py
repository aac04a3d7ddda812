"""The technician's whole visit without a mouse: the demo's first one, from signing in to the record."""

import re

from tests.browser.conftest import PASSWORD, tab_to
from tests.browser.visit_typing import LAYOUT, PHONE, assert_is_first_visit, kept, rows_of

HERE = """() => {
  const at = document.activeElement, section = at.closest("section");
  const folded = at.tagName === "SUMMARY" && !at.parentElement.open;
  return {
    tag: at.tagName, type: at.type ?? "", name: at.name ?? "", value: at.value ?? "", text: at.innerText ?? "",
    more: at.dataset.more ?? "", next: at.classList.contains("next"), section: section?.id ?? "",
    checked: Boolean(at.checked), seen: getComputedStyle(at).outlineStyle !== "none",
    below: folded ? [...at.parentElement.querySelectorAll("[name]")].map((each) => [each.name, each.value]) : [],
  };
}"""
MOST_KEYS = 4000


class Hands:
    """Two hands on a keyboard: they go from field to field and type what the record has for it."""

    def __init__(self, page, record):
        self.page, self.left = page, dict(record)
        self.rows = {name.split(".")[0]: rows_of(record, name.split(".")[0]) for name in record if _in_rows(name)}

    def fill_in(self):
        """Go through the form to its end; what is left then had no place."""
        for _ in range(MOST_KEYS):
            self.page.keyboard.press("Tab")
            here = self.page.evaluate(HERE)
            assert here["seen"], here
            if here["text"] == "Send the visit":
                return
            self._at(here)
        raise AssertionError("the keyboard does not reach the end of the form")

    def _at(self, here):
        keys = self.page.keyboard
        if here["tag"] == "SUMMARY":
            if any(self.left.get(name, value) != value for name, value in here["below"]):
                keys.press("Enter")
        elif here["tag"] == "A" and here["next"]:
            keys.press("Enter")
        elif here["more"]:
            if int(here["section"].rpartition("-")[2]) + 1 < self.rows.get(here["more"], 0):
                keys.press("Enter")
        elif here["text"] == "Lay out the cups":
            keys.press("Enter")
            self._back_to(here["section"].replace("-", ".") + ".rows.0.0")
        elif here["type"] == "checkbox":
            self._tick(here)
        elif here["name"] in self.left:
            self._type(here, self.left.pop(here["name"]))

    def _tick(self, here):
        """The boxes of a list are told apart by their words, not by their number."""
        like = re.compile(re.sub(r"\d+$", r"\\d+$", re.escape(here["name"])))
        for name in [name for name in self.left if like.match(name) and self.left[name] == here["value"]]:
            del self.left[name]
            self.page.keyboard.press("Space")

    def _type(self, here, wanted):
        keys = self.page.keyboard
        if here["value"] == wanted and here["type"] != "radio":
            return
        if here["type"] == "radio" or here["tag"] == "SELECT":
            self._choose(here, wanted)
        elif here["type"] in ("date", "time", "datetime-local"):
            for number, part in enumerate(_by_parts(wanted)):
                if number:
                    keys.press("ArrowRight")  # a year may have six digits, so its end is said
                keys.type(part)
        else:
            keys.type(wanted)
        now = self.page.evaluate(HERE)
        assert now["value"] == wanted, (now, wanted)

    def _choose(self, here, wanted):
        for _ in range(60):
            if here["value"] == wanted and (here["checked"] or here["tag"] == "SELECT"):
                return
            self.page.keyboard.press("Space" if here["value"] == wanted else "ArrowDown")
            here = self.page.evaluate(HERE)

    def _back_to(self, name):
        """The first cup itself is filled in on the way there, the others on the way forth."""
        for _ in range(200):
            self.page.keyboard.press("Shift+Tab")
            here = self.page.evaluate(HERE)
            if here["name"] == name:
                self._at(here)
                return
        raise AssertionError(f"the keyboard does not reach {name}")


def _in_rows(name):
    return re.match(r"[a-z]+\.\d+\.", name)


def _by_parts(wanted):
    """Write a date and a time as an American telephone asks for them: `07132026`, `0841A`."""
    found = re.fullmatch(r"(?:(\d{4})-(\d\d)-(\d\d))?T?(?:(\d\d):(\d\d))?", wanted)
    year, month, day, hour, minute = found.groups()
    date = [f"{month}{day}{year}"] if year else []
    return [*date, f"{int(hour) % 12 or 12:02}{minute}{'AP'[int(hour) >= 12]}"] if hour else date


def test_the_technician_needs_no_mouse(chromium, running, record, root, unsaid):
    context = chromium.new_context(base_url=running.address, viewport=PHONE)
    page = context.new_page()
    page.goto("/sign-in")
    tab_to(page, "Name")
    page.keyboard.type("tom")
    tab_to(page, "Password")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url("**/")
    tab_to(page, "Thistledown Grange, Cobble Ferry")
    page.keyboard.press("Enter")
    page.wait_for_url("**/sites/grange")
    tab_to(page, "Visit")
    page.keyboard.press("Enter")
    page.wait_for_url("**/visit")
    hands = Hands(page, record)
    hands.fill_in()
    assert {name: value for name, value in hands.left.items() if name.split(".")[-1] not in LAYOUT} == {}
    page.keyboard.press("Enter")
    page.wait_for_url("**/visits/*")
    (visit,) = kept(running)
    assert_is_first_visit(visit, root)
    context.close()
