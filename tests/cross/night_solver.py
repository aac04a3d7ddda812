"""The earliest end of a night's order, proven by a solver that shares no code with the program (OR-tools CP-SAT)."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from ortools.sat.python import cp_model

from etsched.core.night import Chains, Limits

# The solver's own count of its work, the same on every machine; seconds would prove other nights on other machines.
MOST_WORK = 2.0

Row = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Proof:
    """What the solver says: no order ends before `least_min`, and it found one that ends at `found_min`, if any."""

    least_min: int
    found_min: int | None

    @property
    def best_min(self) -> int | None:
        """The earliest end, where it is proven."""
        return self.found_min if self.found_min == self.least_min else None


def earliest_end(chains: Chains, limits: Limits, most_work: float = MOST_WORK, delay_min: int = 0) -> Proof:
    """Search the earliest end of all cycles, however long the window; flows must be whole litres a minute.

    A valve that has closed keeps its place, and the flow it had, for the delay: whatever takes them over waits so long.
    """
    model = cp_model.CpModel()
    rows = _rows(chains)
    latest = sum(count * (cycle + soak + delay_min) for count, cycle, soak, _ in rows)
    end = model.new_int_var(0, latest, "end")
    starts = [[model.new_int_var(0, latest, "start") for _ in range(row[0])] for row in rows]
    for (_, cycle, soak, _), its in zip(rows, starts, strict=True):
        for earlier, later in pairwise(its):
            model.add(later >= earlier + cycle + max(soak, delay_min))
        model.add(end >= its[-1] + cycle)
    for (row, its), (other, others) in pairwise(zip(rows, starts, strict=True)):
        if row == other:  # of two alike either may be the first: nothing is lost
            model.add(others[0] >= its[0])
    runs = [
        model.new_fixed_size_interval_var(start, row[1] + delay_min, "run")
        for row, its in zip(rows, starts, strict=True)
        for start in its
    ]
    if limits.max_valves_count == 1:
        model.add_no_overlap(runs)
    else:
        model.add_cumulative(runs, [1] * len(runs), limits.max_valves_count)
    if limits.max_flow_l_min is not None:
        flows = [flow for count, _, _, flow in rows for _ in range(count)]
        model.add_cumulative(runs, flows, int(limits.max_flow_l_min))
    model.minimize(end)
    return _solved(model, most_work)


def _rows(chains: Chains) -> list[Row]:
    """Stations with cycles as whole numbers, those alike beside each other: (cycles, minutes a cycle, soak, flow)."""
    columns = (chains.cycles_count, chains.cycle_min, chains.soak_min, chains.flow_l_min)
    rows = [tuple(int(number) for number in row) for row in zip(*columns, strict=True)]
    return sorted(row for row in rows if row[0])


def _solved(model: cp_model.CpModel, most_work: float) -> Proof:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = most_work
    status = solver.solve(model)
    found = round(solver.objective_value) if status in {cp_model.OPTIMAL, cp_model.FEASIBLE} else None
    return Proof(round(solver.best_objective_bound), found)
