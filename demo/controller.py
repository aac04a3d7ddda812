"""A controller for one night, played against a running service: how an integration talks to it.

    ETSCHED_KEY=ets_... python demo/controller.py --url http://127.0.0.1:8470 --site thistledown-grange
    python demo/serve.py --fresh --then python demo/controller.py --fresh

The second line plays both sides, on a clock that runs faster than the one on the wall.

It asks for tonight with the ETag it has, opens "valves" at the instants it was told, reports every run under a stable
idempotency key, and tells the night wholly when the window has closed. Everything it knows lies in one file that is
replaced whole, so that it may be killed at any moment and started again: a valve that was open counts up to its last
mark as cut short, reports that were not acknowledged are sent again under the same keys, and nothing counts twice.

Only a play: no valve is opened. A real controller keeps its own limits on run time, its rain switch and a shut-off by
hand, whatever a service tells it.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import requests

TIMEOUT_S = 10
MARK = timedelta(minutes=1)  # how often an open valve is written down
PAUSES_S = (0.5, 1, 2, 4, 8, 15, 30, 60)  # between tries, where nothing goes on without an answer
LATE_S = 5.0  # so late by the wall clock a cycle may still begin: a report may have taken so long
SILENT = {"etag": "", "tonight": None, "ran": {}, "told": [], "open": None, "outbox": []}


class Memory:
    """What the controller knows, in one file that is replaced whole."""

    def __init__(self, path: Path) -> None:
        self.path = path
        text = path.read_text("utf-8") if path.exists() else json.dumps(SILENT)
        self.known: dict[str, Any] = json.loads(text)

    def save(self) -> None:
        beside = self.path.with_suffix(".new")
        with beside.open("w", encoding="utf-8") as file:
            json.dump(self.known, file)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(self.path)


class PlayedClock:
    """The service's clock as its last answer told it, running on so many times faster than the one on the wall."""

    def __init__(self, memory: Memory, url: str, speed: float) -> None:
        self.speed = speed
        try:
            told_now = requests.get(f"{url.rstrip('/')}/health", timeout=TIMEOUT_S).json()["now"]
            memory.known["clock"] = [told_now, time.time()]
        except requests.RequestException:
            memory.known.setdefault("clock", [datetime.now(UTC).isoformat(), time.time()])
        self.begin, self.real_s = datetime.fromisoformat(memory.known["clock"][0]), memory.known["clock"][1]

    def now(self) -> datetime:
        return self.begin + timedelta(seconds=(time.time() - self.real_s) * self.speed)

    def wait(self, until: datetime) -> None:
        time.sleep(max(0.0, (until - self.now()).total_seconds() / self.speed))


class Controller:
    """Plays the night."""

    def __init__(self, url: str, site: str, key: str, memory: Memory, clock: PlayedClock) -> None:
        self.base, self.site, self.memory, self.clock = f"{url.rstrip('/')}/v1/sites/{site}", site, memory, clock
        self.session = requests.Session()
        self.session.headers["Authorization"] = f"Bearer {key}"

    def ask(self) -> bool:
        """Take the newest plan; without an answer (False) the last one stays, as the service asks for."""
        known = self.memory.known
        headers = {"If-None-Match": known["etag"]} if known["etag"] else {}
        try:
            answer = self.session.get(f"{self.base}/tonight", headers=headers, timeout=TIMEOUT_S)
        except requests.RequestException as error:
            say(f"the service does not answer ({type(error).__name__}); the plan that is known stays")
            return False
        if answer.status_code == requests.codes.ok:
            known["etag"], known["tonight"] = answer.headers["ETag"], answer.json()
            say(f"plan {known['tonight']['plan_revision']}, good until {known['tonight']['valid_until']}")
            self.memory.save()
        elif answer.status_code == requests.codes.not_modified:
            say("the plan is unchanged (304)")
        else:
            say(f"no plan: {told(answer)}")
        return answer.status_code < requests.codes.server_error

    def have_plan(self) -> None:
        """Ask until there is an answer, or go by the plan that is known."""
        for pause_s in PAUSES_S:
            if self.ask() or self.planned() is not None:
                return
            time.sleep(pause_s)

    def night(self) -> None:
        """Run what is planned, report it, and tell the night wholly."""
        self.send()
        if not self.has_begun():  # what runs in an open window is not changed any more
            self.have_plan()
        planned = self.planned()
        if planned is None or planned["opens_on"] in self.memory.known["told"]:
            say("there is nothing to run")
            return
        self.cut_short(planned["opens_on"])
        cycles = sorted(
            (datetime.fromisoformat(cycle["start_utc"]), run["terminal"], cycle["minutes"])
            for run in planned["runs"]
            for cycle in run["cycles"]
        )
        for begins, terminal, minutes in cycles:
            if begins.isoformat() in self.memory.known["ran"]:
                continue
            if self.clock.now() > begins + timedelta(seconds=LATE_S * self.clock.speed):
                say(f"station {terminal}: the time of a cycle has passed, it is left out and not made up for")
                continue
            self.clock.wait(begins)
            self.open_valve(planned["opens_on"], terminal, begins, minutes)
            self.send()
        self.clock.wait(datetime.fromisoformat(planned["closes_utc"]))
        self.memory.known["told"].append(planned["opens_on"])
        self.put({"runs": [], "nights_whole": [planned["opens_on"]]})
        self.send_all()

    def planned(self) -> dict[str, Any] | None:
        """Give the night of the plan that is known."""
        return (self.memory.known["tonight"] or {}).get("night")

    def has_begun(self) -> bool:
        """Say whether the night that is known is on, or was on, and has not been told wholly."""
        night = self.planned()
        if night is None or night["opens_on"] in self.memory.known["told"]:
            return False
        return datetime.fromisoformat(night["opens_utc"]) <= self.clock.now()

    def open_valve(self, opens_on: str, terminal: int, begins: datetime, minutes: int) -> None:
        """Let a valve run, writing down every minute how far it is."""
        say(f"station {terminal}: open for {minutes} min")
        began = max(begins, self.clock.now())
        run = {"terminal": terminal, "began": began.isoformat(), "minutes": 0}
        for minute in range(minutes + 1):
            self.clock.wait(began + minute * MARK)
            self.memory.known["open"] = {"cycle": begins.isoformat(), "run": run | {"minutes": minute}}
            self.memory.save()
        self.close_valve(opens_on, "program")

    def cut_short(self, opens_on: str) -> None:
        """A valve that was open when the power went counts up to its last mark."""
        if self.memory.known["open"] is not None:
            say(f"station {self.memory.known['open']['run']['terminal']}: cut short by a restart")
            self.close_valve(opens_on, "cut short")

    def close_valve(self, opens_on: str, how: str) -> None:
        """Write down that a run ended, and its report, in one step."""
        ended = self.memory.known["open"]
        run, cycle = ended["run"], ended["cycle"]
        self.memory.known["open"] = None
        self.memory.known["ran"][cycle] = run["terminal"]
        report = f"{opens_on}.{run['terminal']}.{cycle[11:16]}"
        self.put({"runs": [{"report": report, "opens_on": opens_on, "how": how, **run}], "nights_whole": []})

    def put(self, body: dict[str, Any]) -> None:
        """Put a report among those that wait; its key is made of what it says, so that a restart changes nothing."""
        key = hashlib.sha256(json.dumps([self.site, body], sort_keys=True).encode()).hexdigest()[:32]
        if key not in [each["key"] for each in self.memory.known["outbox"]]:
            self.memory.known["outbox"].append({"key": key, "body": body})
        self.memory.save()

    def send_all(self) -> None:
        """Send until nothing waits; what nobody takes for two minutes is left to the next start."""
        for pause_s in PAUSES_S:
            self.send()
            if not self.memory.known["outbox"]:
                return
            time.sleep(pause_s)

    def send(self) -> None:
        """Send what waits, the oldest first; what is not acknowledged goes on waiting."""
        waiting = self.memory.known["outbox"]
        while waiting:
            headers = {"Idempotency-Key": waiting[0]["key"]}
            try:
                answer = self.session.post(
                    f"{self.base}/applied", json=waiting[0]["body"], headers=headers, timeout=TIMEOUT_S
                )
            except requests.RequestException as error:
                say(f"a report waits ({type(error).__name__})")
                return
            if answer.status_code != requests.codes.ok:
                say(f"a report waits: {told(answer)}")
                return
            waiting.pop(0)
            self.memory.save()
            say(f"a report was taken, {answer.json()['new_count']} new")


def told(answer: requests.Response) -> str:
    """Give what a problem document says, for a person."""
    try:
        problem = answer.json()
        return "; ".join([problem["title"], *(each["detail"] for each in problem["errors"][:3])])
    except (ValueError, KeyError, TypeError):
        return f"HTTP {answer.status_code}"


def say(words: str) -> None:
    print(words, flush=True)


def main() -> int:
    """Play one night; ends with 0 when every report was taken."""
    parser = argparse.ArgumentParser(description="Play a controller for one night; its key comes from ETSCHED_KEY.")
    known = os.environ
    parser.add_argument("--url", default=known.get("DEMO_URL", "http://127.0.0.1:8470"))
    parser.add_argument("--site", default=known.get("DEMO_SITE"), required="DEMO_SITE" not in known)
    parser.add_argument("--state", type=Path, default=Path("controller.json"), help="the file it remembers in")
    parser.add_argument("--speed", type=float, default=float(known.get("DEMO_SPEED", "1")), help="hours an hour")
    parser.add_argument("--fresh", action="store_true", help="forget what it remembers")
    given = parser.parse_args()
    if given.fresh:
        given.state.unlink(missing_ok=True)
    key = known.get("ETSCHED_KEY") or known.get("DEMO_KEY", "")
    if not key:
        parser.error("set ETSCHED_KEY to a key with the scopes read and report applied")
    memory = Memory(given.state)
    controller = Controller(given.url, given.site, key, memory, PlayedClock(memory, given.url, given.speed))
    controller.night()
    return 1 if memory.known["outbox"] else 0


if __name__ == "__main__":
    sys.exit(main())
