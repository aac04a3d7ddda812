"""The error family: one class a failure, with the sentence a person reads inside it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing that is wrong with what a person handed over: where, what, and what to do about it."""

    file: str
    line: int | None
    field: str
    wrong: str
    remedy: str

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file}, line {self.line}"
        field = f", {self.field}" if self.field else ""
        return f"{where}{field}: {self.wrong}; {self.remedy}."


class EtschedError(Exception):
    """Anything this program refuses or gives up on; `exit_code` is what the command line ends with."""

    exit_code = 1


class InputRefused(EtschedError):
    """Something handed over cannot be used. All problems found are told at once, in the file's order."""

    exit_code = 3

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class SiteRefused(InputRefused):
    """A site file that cannot be used."""


class VisitRefused(InputRefused):
    """A record of a visit that cannot be used."""


class WeatherRefused(InputRefused):
    """A weather file that cannot be used."""


class ColumnsRefused(InputRefused):
    """A column mapping that cannot be used."""


class AppliedRefused(InputRefused):
    """A record of what was applied, or an earlier week's document, that cannot be used."""


class SettingsRefused(InputRefused):
    """Service settings that cannot be used."""


class QuantityRefused(EtschedError):
    """A typed value such as `"6 in"` that is no number with a fitting unit."""

    exit_code = 3


class PlanRefused(EtschedError):
    """No plan can be made from these values; the sentence says which one stands in the way."""

    exit_code = 4


class NightBegun(PlanRefused):
    """The night that a plan would begin with is on already, and what runs in it is not changed any more."""


class SpellRefused(PlanRefused):
    """Hotter days that cannot be meant; `field` says which of `hotter_c`, `days` and `first` is wrong."""

    def __init__(self, words: str, field: str = "") -> None:
        self.field = field
        super().__init__(words)


class BalanceBroken(EtschedError):
    """The water books of a station do not close: a defect of this program, never of the input."""

    exit_code = 5


class OutputRefused(EtschedError):
    """A result cannot be written where it was asked for."""

    exit_code = 6


class StoreRefused(EtschedError):
    """The database cannot be used as it is; nothing in it was changed."""

    exit_code = 8


class AccessRefused(EtschedError):
    """Who asks is not let in; the sentence never says whether a key or a name exists."""


class WebhookFailed(EtschedError):
    """A receiver did not take an event; the sentence says why and holds no secret."""


class NotKept(EtschedError):
    """What was asked for is not kept here, such as a property by a name that nobody gave."""

    exit_code = 3


class NoPlanYet(NotKept):
    """A property is kept and no plan of it has been made yet; nobody asked for what is not there."""


class RevisionMoved(EtschedError):
    """Somebody else changed the same thing since it was read; nothing of this change is kept."""

    exit_code = 3


class ClaimLost(EtschedError):
    """Somebody else took a job over while it was being done; what was done is thrown away."""


class Stopping(EtschedError):
    """The program is to stop, so what was being asked outside is given up; nothing is known of how it would end."""


class FeedFailed(EtschedError):
    """A weather feed gave nothing that can be used, however often it was asked."""

    exit_code = 7


class FeedRefused(FeedFailed):
    """A weather feed answered with something that asking again would not mend."""


class PdfMissing(OutputRefused):
    """The extra that makes PDFs is not installed; the sentence says what to install."""
