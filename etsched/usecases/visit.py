"""What a visit comes to, from files."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.documents.visit_file import read_visits
from etsched.errors import PlanRefused
from etsched.planning.visit_evaluation import VisitCase, evaluate
from etsched.usecases.week import earlier_from

if TYPE_CHECKING:
    from pathlib import Path

    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.usecases.inputs import Inputs
    from etsched.usecases.week import Before


def visit_from_inputs(inputs: Inputs, visit_file: Path, before: Before) -> VisitOutcome:
    """Judge the visit of a file after those of `before`; the week it leads to begins tomorrow.

    Raises AppliedRefused, VisitRefused, PlanRefused.
    """
    visits = read_visits((*before.visits, visit_file), inputs.site, inputs.today)
    (visit,) = read_visits((visit_file,), inputs.site, inputs.today)
    if visit.day != visits[-1].day:
        raise PlanRefused(
            f"{visit_file}: a visit of {visit.day} is to be judged, and one of {visits[-1].day} is given as made "
            "before it; judge the later one"
        )
    first_day = inputs.today + timedelta(days=1)
    return evaluate(VisitCase(inputs.site, visit, inputs.weather, first_day, earlier_from(inputs, before), visits[:-1]))
