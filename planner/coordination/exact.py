"""Finish small cases with a constraint solver: the extra ``exact``.

The solver is CP-SAT of OR-Tools (Apache-2.0). It runs with one worker and a deterministic limit,
so that the same input gives the same answer on any machine. It gives a set and a bound; the set
is put to the verifier like every other one.
"""

from __future__ import annotations

import importlib
import math
from typing import TYPE_CHECKING, Any

from planner.coordination.bounds import BoundedSet, upper_bound
from planner.coordination.bounds_spans import SEARCH_STEPS, Distances, least_spans
from planner.coordination.exact_model import Model
from planner.coordination.records import Grid, GuardSet, PlacedCarrier
from planner.coordination.search import free_points
from planner.coordination.verify import require_sound, violations
from planner.errors import PlannerError

if TYPE_CHECKING:
    from collections.abc import Sequence

_MOST_ROUNDS = 200
_MOST_CENTRES = 1000
_LONGEST_CUT = 12


class SolverMissing(PlannerError):  # noqa: N818 - names the condition
    """The constraint solver is not installed."""

    def __init__(self) -> None:
        super().__init__(
            "the exact solver is not installed; install it with: pip install 'passband[exact]'"
        )


class TooManyCentres(PlannerError):  # noqa: N818 - names the condition
    """More centres than the solver's model can hold.

    Parameters
    ----------
    centres, most : int
        Centres free for carriers, and the most that are allowed.
    """

    def __init__(self, centres: int, most: int) -> None:
        self.centres = centres
        self.most = most
        super().__init__(
            f"{centres} free centres are too many for the exact solver, {most} are allowed; "
            "take narrower windows or a wider step"
        )


def solve_exactly(
    grid: Grid,
    guards: GuardSet,
    *,
    seconds: float,
    fixed_hz: Sequence[int] = (),
    start_hz: Sequence[int] = (),
    search_steps: int = SEARCH_STEPS,
) -> BoundedSet:
    """Find the largest set, or the best set and the least bound within a limit.

    Parameters
    ----------
    grid, guards : Grid, GuardSet
        Where new carriers may stand; guards of all carriers.
    seconds : float
        Deterministic time of the solver, above 0: about so many seconds of one core, and the
        same work on every machine.
    fixed_hz : sequence of int
        Carriers that stand already, anywhere, each once [Hz]; they may violate each other.
    start_hz : sequence of int
        A valid set of new carriers to begin with, for example what a search found [Hz]; fixed
        ones among them are left out.
    search_steps : int
        See :func:`planner.coordination.upper_bound`.

    Returns
    -------
    BoundedSet
        Never smaller than the start.

    Raises
    ------
    SolverMissing
        When the extra ``exact`` is not installed.
    TooManyCentres
        When more than 1000 centres are free. Proofs within a minute are to be expected for 200
        to 300 centres; up to the limit the solver still improves a start and a bound.
    BrokenSet
        When the verifier refuses the start, or the set found: a fault of the caller or of the
        program.
    ValueError
        When ``seconds`` is not above 0.

    Notes
    -----
    Rounds: the model holds all spacings, 2A-B, 3A-2B, and what A+B-C says about differences
    (:class:`planner.coordination.exact_model.Model`). Whatever else the verifier finds wrong
    with a solution becomes a clause, and the model is solved again. Every model is weaker than
    the question, so that each round's bound is proven; the first solution with nothing wrong is
    as good as its round's proof.
    """
    if not seconds > 0:
        raise ValueError(f"seconds {seconds:g} is not above 0")
    try:
        cp_model = importlib.import_module("ortools.sat.python.cp_model")
    except ImportError as error:
        raise SolverMissing from error
    fixed = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in fixed_hz]
    points_hz = [int(hz) for hz in free_points(grid, guards, fixed)]
    if len(points_hz) > _MOST_CENTRES:
        raise TooManyCentres(len(points_hz), _MOST_CENTRES)
    best_hz = sorted(set(start_hz) - set(fixed_hz))
    require_sound([PlacedCarrier(frequency_hz=hz, guards=guards) for hz in best_hz], fixed)
    limit = upper_bound(
        grid.windows_hz,
        step_hz=grid.step_hz,
        origin_hz=grid.origin_hz,
        guards=guards,
        fixed=fixed,
        search_steps=search_steps,
    )
    run = _Run(cp_model, guards, fixed, limit - len(fixed), seconds)
    run.build(points_hz, grid.step_hz, search_steps)
    run.solve(best_hz)
    found = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in run.best_hz]
    require_sound(found, fixed)
    return BoundedSet(
        carriers_hz=tuple(sorted((*fixed_hz, *run.best_hz))), limit=run.limit + len(fixed)
    )


class _Run:
    """One question put to the solver, round after round."""

    def __init__(
        self,
        cp_model: Any,  # noqa: ANN401 - an optional library without types
        guards: GuardSet,
        fixed: Sequence[PlacedCarrier],
        limit: int,
        seconds: float,
    ) -> None:
        self._cp_model = cp_model
        self._guards = guards
        self._fixed = fixed
        self._seconds = seconds
        self.limit = limit
        self.best_hz: list[int] = []

    def build(self, points_hz: Sequence[int], step_hz: int, search_steps: int) -> None:
        """Write the model: the new carriers, and fixed ones that are full members of a set."""
        bad = {hz for found in violations(self._fixed) for hz in found.carriers_hz}
        members = [c.frequency_hz for c in self._fixed if c.frequency_hz not in bad]
        self._model = Model(self._cp_model, points_hz, members, self._guards)
        self._model.add_spacing()
        self._model.add_middles()
        self._model.add_fifths()
        self._model.add_differences()
        if points_hz:
            self._model.at_most(self.limit)
            self._cut(points_hz, step_hz, search_steps)

    def _cut(self, points_hz: Sequence[int], step_hz: int, search_steps: int) -> None:
        """Say how many new carriers a few units of the raster can hold."""
        distances = Distances(
            spacing=max(1, -(-self._guards.spacing_hz // step_hz)),
            chain=-(-self._guards.guard_2a_b_hz // step_hz),
            cross=-(-self._guards.guard_a_b_c_hz // step_hz),
            fifth=-(-self._guards.guard_3a_2b_hz // step_hz),
        )
        longest = (points_hz[-1] - points_hz[0]) // step_hz
        spans = least_spans(longest, distances, search_steps)[: _LONGEST_CUT + 1].tolist()
        for held, span in enumerate(spans[2:], start=2):
            self._model.cut(held, span * step_hz)

    def solve(self, start_hz: Sequence[int]) -> None:
        """Solve until a solution is sound or the time is spent."""
        self.best_hz = list(start_hz)
        solver = self._cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        left = self._seconds
        for _ in range(_MOST_ROUNDS):
            if len(self.best_hz) >= self.limit or left <= 0:
                return
            self._model.hint(self.best_hz)
            solver.parameters.max_deterministic_time = left
            status = solver.Solve(self._model.model)
            left -= float(solver.ResponseProto().deterministic_time)
            bound = solver.BestObjectiveBound()
            self.limit = max(min(self.limit, math.floor(bound + 1e-6)), len(self.best_hz))
            if status not in {self._cp_model.OPTIMAL, self._cp_model.FEASIBLE}:
                return
            if not self._learn(self._model.chosen(solver)) and status != self._cp_model.OPTIMAL:
                return

    def _learn(self, chosen_hz: Sequence[int]) -> bool:
        """Keep a sound part of a solution; say whether clauses were added."""
        guards = self._guards
        carriers = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in chosen_hz]
        new = set(chosen_hz)
        wrong = [v for v in violations((*carriers, *self._fixed)) if new & set(v.carriers_hz)]
        for violation in wrong:
            self._model.forbid(new & set(violation.carriers_hz))
        sound = set(chosen_hz)
        for violation in wrong:
            if sound.issuperset(new & set(violation.carriers_hz)):
                sound.discard(max(new & set(violation.carriers_hz)))
        if len(sound) > len(self.best_hz):
            self.best_hz = sorted(sound)
        return bool(wrong)
