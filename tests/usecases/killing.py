"""Killing processes that `living` keeps alive, and counting what a kill must never leave."""

import os
import random
import signal
import time
import warnings
from contextlib import contextmanager
from dataclasses import dataclass, field


@dataclass
class Tally:
    """What was found lost, torn and twice, a line for each."""

    lost: list = field(default_factory=list)
    torn: list = field(default_factory=list)
    twice: list = field(default_factory=list)
    kills_count: int = 0

    def is_clean(self):
        return not (self.lost or self.torn or self.twice)


def begun(does, *given):
    """Fork a process that does something; gives its number and where to hear it."""
    hears, says = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # threads of other tests are of no use to the child
        child = os.fork()
    if child == 0:  # pragma: no cover - it is killed
        os.close(hears)
        url, *rest = given
        try:
            does(url, says, *rest)
        except BaseException as error:
            os.write(says, f"died {error!r}\n".encode())
        os._exit(1)
    os.close(says)
    return child, os.fdopen(hears)


def killed(child, heard):
    """Kill it, and give what it said whole; a line that the kill cut off was not acknowledged."""
    os.kill(child, signal.SIGKILL)
    with heard:
        lines = heard.readlines()
    _, status = os.waitpid(child, 0)
    assert os.WTERMSIG(status) == signal.SIGKILL, lines
    return [line.split() for line in lines if line.endswith("\n")]


@dataclass
class Killer:
    """Lets processes live for drawn times and kills them; the first lives until it has said something."""

    does: object
    given: tuple
    tally: Tally
    chance: random.Random
    longest_s: float = 0.0

    def first(self, word, times=1):
        """Kill the first one once it has said a word so often, which takes its time here; gives what it said."""
        since = time.monotonic()
        child, heard = begun(self.does, *self.given)
        said = []
        while sum(words[0] == word for words in said) < times:
            said.append(heard.readline().split())
            assert said[-1][:1] not in ([], ["died"]), said
        self.longest_s = time.monotonic() - since
        self.tally.kills_count += 1
        return said + killed(child, heard)

    def once(self):
        """Kill one at a drawn moment; gives what it said."""
        child, heard = begun(self.does, *self.given)
        time.sleep(self.chance.uniform(0.0, self.longest_s))
        self.tally.kills_count += 1
        return killed(child, heard)


@contextmanager
def counted(kind, record):
    """Count one kind's campaign; the counts are kept with the test's record and printed for whoever reads along."""
    tally = Tally()
    try:
        yield tally
    finally:
        counts = {
            "kill9_kills": tally.kills_count,
            "kill9_lost": len(tally.lost),
            "kill9_torn": len(tally.torn),
            "kill9_twice": len(tally.twice),
        }
        for name, count in counts.items():
            record(name, count)
        print(f"\n{kind}:", ", ".join(f"{name} {count}" for name, count in counts.items()))  # noqa: T201 - it is to be read
    assert tally.is_clean(), tally
