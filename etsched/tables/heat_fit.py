"""What of a heat check's minutes the nights hold, in words: what fits, what does not, and what to do about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.tables.figure import count_of

if TYPE_CHECKING:
    from etsched.model.heat import HeatCheck, HeatRun

ADDED_NOTE = (
    "Added and what does not fit are minutes of stations; what the runs take and the window are minutes by the clock. "
    "Only whole cycles are left out, and stations that run at once share the clock's minutes, so the two differ."
)


def fits_min(run: HeatRun) -> int:
    """Give the minutes of an addition that its night holds: what does not fit is taken from the addition first."""
    return max(run.extra_min - run.missing_min, 0)


def added_text(run: HeatRun) -> str:
    """Write an addition: `12`, or `12 (5 fit)` where its night holds less."""
    fits = fits_min(run)
    return f"{run.extra_min}" if fits == run.extra_min else f"{run.extra_min} ({fits or 'none'} fit)"


def holds_text(missing_min: int) -> str:
    """Say whether a night holds all that was asked of it."""
    return f"no: {missing_min} min of stations do not fit" if missing_min else "yes"


def fit_sentences(found: HeatCheck) -> list[str]:
    """Say how much of the additions the nights hold, and what of the clock's own minutes they do not."""
    short = [night for night in found.nights if night.missing_min]
    extra, fits = _sums(found)
    if not short:
        return ["The nights hold it all."] if extra else []
    said = []
    nights = count_of(len(short), "night is", "nights are")
    if fits < extra:
        held = f"{fits:,} of the {extra:,} min fit" if fits else "None of the minutes to add fit"
        said.append(f"{nights} too short: {held}, {extra - fits:,} do not." if fits else f"{nights} too short: {held}.")
    own = sum(night.missing_min for night in short) - (extra - fits)
    if own:
        said.append(
            f"Of the minutes that the table itself asks for {own:,} do not fit, once its runs are cut into cycles that "
            "do not run off."
        )
    return said


def what_to_add(found: HeatCheck) -> list[str]:
    """Say what is to be done with the minutes that are listed by station and night."""
    extra, fits = _sums(found)
    if not extra:
        return ["There are no minutes to add."]
    if fits == extra:
        return ["Add the minutes that the table of stations lists, night by night."]
    rest = (
        "For the rest the allowed hours must be longer; where they cannot be, water what matters most fully and let "
        "the rest go dormant."
    )
    if not fits:
        return ["The nights are full: none of the minutes that the table of stations lists can be added.", rest]
    return [
        "Add only what fits: where a night does not hold an addition, the table of stations says in brackets how many "
        "of its minutes fit.",
        rest,
    ]


def _sums(found: HeatCheck) -> tuple[int, int]:
    runs = [run for night in found.nights for run in night.runs]
    return sum(run.extra_min for run in runs), sum(fits_min(run) for run in runs)
