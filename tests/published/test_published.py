"""Every number of shared/published is a case; which check computes it stands in the entries_*.py beside this file."""

from __future__ import annotations

import numpy as np
import pytest

from . import entries_atmosphere, entries_balance, entries_cups, entries_reference  # noqa: F401 - they register
from .registry import CHECKS, MARKS, Case, cases, computed, entries, half_of_last_digit

LEAST_COUNT = 835


@pytest.mark.parametrize("case", cases(), ids=str)
def test_printed_value(case: Case) -> None:
    record = entries()[case.entry]
    results = computed(case.entry)[case.name]
    assert np.ndim(results) == len(case.index), f"{case} is computed in another shape than printed"
    found, wanted = float(np.asarray(results)[case.index]), float(case.printed)
    assert abs(found - wanted) <= case.tolerance, (
        f"{case}: computed {found!r}, printed {case.printed}, tolerance {case.tolerance:.3g}; {record['source']}"
    )


def test_every_entry_has_a_check_and_every_check_an_entry() -> None:
    assert set(CHECKS) == set(entries())


def test_no_number_is_computed_in_vain_or_missing() -> None:
    for name, record in entries().items():
        wanted = set(record["printed"]) | {f"{key} (full)" for key in record.get("full_precision", {})}
        assert set(computed(name)) == wanted, name


def test_every_entry_says_where_it_comes_from_and_why_it_is_loose() -> None:
    for name, record in entries().items():
        assert record["mark"] in MARKS, name
        assert record["source"], name
        if "within" in record or "within_relative" in record:
            assert record["why_within"], name


def test_there_are_as_many_cases_as_there_were() -> None:
    assert len(cases()) >= LEAST_COUNT


def test_extraterrestrial_table_strays_once_only() -> None:
    """The tolerance of Table 2.6 is made for one cell; the other 119 keep to 0.11."""
    printed = np.array(entries()["fao56.table2_6"]["printed"]["extraterrestrial_mj_m2_d"], dtype=float)
    error = np.abs(computed("fao56.table2_6")["extraterrestrial_mj_m2_d"] - printed)
    assert (error > 0.11).sum() == 1


@pytest.mark.parametrize(("printed", "half"), [("2.30", 0.005), ("16", 0.5), ("-0.1", 0.05), ("900", 0.5)])
def test_half_of_the_last_digit(printed: str, half: float) -> None:
    assert half_of_last_digit(printed) == pytest.approx(half)
