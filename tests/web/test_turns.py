"""PDFs are made one at a time; who waits too long is told so, and when to come again."""

import html
import time
from concurrent.futures import ThreadPoolExecutor
from threading import Event, Lock

import pytest
from starlette.testclient import TestClient

from etsched.model.access import Role
from etsched.web.app import make_app
from etsched.web.pages import downloads
from etsched.web.pages.turns import Turns
from etsched.web.problems import UNAVAILABLE, Refused
from tests.web.conftest import PASSWORD, WIDE, put_person

PATHS = ("/sites/grange/week.pdf", "/sites/grange/door.pdf")


@pytest.fixture(scope="module")
def mia(shared):
    put_person(shared.service.database, "mia", Role.MANAGER, frozenset({"grange"}))

    def signed_in():
        client = TestClient(make_app(shared.service, WIDE), base_url="http://localhost")
        client.post("/sign-in", data={"name": "mia", "password": PASSWORD, "to": "/"})
        return client

    return signed_in


class Press:
    """Stands in for what makes a PDF, and knows how many it was making at once."""

    def __init__(self, takes_s=0.0):
        self.takes_s, self.at_once, self.most, self.made, self._lock = takes_s, 0, 0, 0, Lock()

    def __call__(self, *_):
        with self._lock:
            self.at_once += 1
            self.most = max(self.most, self.at_once)
        time.sleep(self.takes_s)
        with self._lock:
            self.at_once -= 1
            self.made += 1
        return b"%PDF-made"


def with_press(monkeypatch, press, turns):
    for name, each in (("week_pdf", press), ("clock_pdf", press), ("_TURNS", turns)):
        monkeypatch.setattr(downloads, name, each)


def test_sheets_of_both_kinds_are_never_made_at_once(mia, monkeypatch):
    press = Press(0.05)
    with_press(monkeypatch, press, Turns("busy", wait_s=60.0, most_waiting=8))
    clients = [mia() for _ in range(6)]
    with ThreadPoolExecutor(6) as pool:
        answers = list(pool.map(lambda one: one[0].get(one[1]), zip(clients, PATHS * 3, strict=True)))
    assert [answer.status_code for answer in answers] == [200] * 6
    assert (press.most, press.made) == (1, 6)


@pytest.mark.parametrize("path", PATHS)
def test_who_waits_too_long_is_told_and_may_come_again(mia, monkeypatch, path):
    turns, press = Turns("Other PDFs are being made", wait_s=0.05, most_waiting=8), Press()
    with_press(monkeypatch, press, turns)
    client = mia()
    with turns.taken():
        answer = client.get(path)
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "1")
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert "Other PDFs are being made; try again in 1 s." in html.unescape(answer.text)
    assert press.made == 0
    assert client.get(path).content == b"%PDF-made"


def test_a_sheet_that_fails_gives_its_turn_back(mia, monkeypatch):
    def broken(*_):
        raise Refused(UNAVAILABLE, "no ink")

    with_press(monkeypatch, broken, Turns("busy", wait_s=0.05, most_waiting=0))
    client = mia()
    assert ["no ink" in client.get(PATHS[0]).text for _ in range(3)] == [True] * 3


def test_no_more_wait_than_there_are_places():
    turns, in_turn, let_go = Turns("busy", wait_s=60.0, most_waiting=1), Event(), Event()

    def hold():
        with turns.taken():
            in_turn.set()
            assert let_go.wait(60)

    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(hold)
        assert in_turn.wait(60)
        second = pool.submit(hold)
        while turns._places._value:  # until the second one waits
            time.sleep(0.01)
        began_s = time.monotonic()
        with pytest.raises(Refused) as refused, turns.taken():
            pass
        assert time.monotonic() - began_s < 30  # at once, not after the wait
        assert refused.value.headers == {"retry-after": "60"}
        let_go.set()
        first.result(), second.result()
    with turns.taken():
        pass
