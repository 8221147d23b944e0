"""Pack as many carriers of one kind as can be found, beside a proven upper bound."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import kernel
from planner.coordination.bounds import upper_bound
from planner.coordination.records import Choice, Grid, GuardSet, Order, PlacedCarrier
from planner.coordination.search import Budget, Search, scans
from planner.coordination.verify import require_sound

if TYPE_CHECKING:
    from collections.abc import Sequence

DEFAULT_STEPS = 50_000
"""Candidates tried when neither steps nor time are given."""

_STARTS = 6
_STIRS_A_LOOK = 256
"""Repairs between two looks at the clock."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Packing:
    """A packed set.

    Attributes
    ----------
    carriers_hz : tuple of int
        All carriers, the fixed ones included, ascending [Hz].
    limit : int
        Proven upper bound of their number.
    steps : int
        Candidates put to the set during the search.
    """

    carriers_hz: tuple[int, ...]
    limit: int
    steps: int

    @property
    def found(self) -> int:
        """Number of carriers."""
        return len(self.carriers_hz)

    @property
    def proven(self) -> bool:
        """Whether no set can be larger."""
        return self.found == self.limit


def pack_carriers(
    grid: Grid,
    guards: GuardSet,
    *,
    fixed_hz: Sequence[int] = (),
    most: int | None = None,
    budget: Budget | None = None,
    seed: int = 0,
) -> Packing:
    """Find as many carriers as the budget allows.

    Parameters
    ----------
    grid, guards : Grid, GuardSet
        Where new carriers may stand; guards of all carriers.
    fixed_hz : sequence of int
        Carriers that stand already, anywhere, each once [Hz]; they may violate each other.
    most : int, optional
        Stop at so many, the fixed ones included; as many as fit when left out.
    budget : Budget, optional
        What may be tried; ``DEFAULT_STEPS`` when left out. It binds the first pass too.
    seed : int
        Start of the random numbers; the first passes do not depend on it.

    Returns
    -------
    Packing
        Verified. Same input, seed and steps, same set; never smaller than ascending first-fit
        unless the budget ended before that.

    Raises
    ------
    BrokenSet
        When the verifier refuses the set: a fault of the program.
    """
    budget = Budget(DEFAULT_STEPS) if budget is None else budget
    fixed = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in fixed_hz]
    limit = upper_bound(
        grid.windows_hz,
        step_hz=grid.step_hz,
        origin_hz=grid.origin_hz,
        guards=guards,
        fixed=fixed,
    )
    goal = max(0, (limit if most is None else min(limit, most)) - len(fixed))
    nowhere = dataclasses.replace(grid, windows_hz=())
    choice = Choice(range_key="", guards=guards, grid=grid, spare_grid=nowhere)
    search = Search([Order(name="", choices=(choice,), count=goal)], fixed, seed=seed)
    best, steps = search.begin(), 0
    for scan in scans(_STARTS):
        board = search.begin()
        search.fill(board, scan, (0,), most_steps=budget.steps - steps)
        steps += int(board.state[kernel.STEPS])
        if kernel.shortage(board.needs) < kernel.shortage(best.needs):
            best = board
        if steps >= budget.steps or budget.is_over() or kernel.shortage(best.needs) == (0, 0):
            break
    best.state[kernel.STEPS] = steps
    while best.needs[0, kernel.ON_MAIN] and not budget.is_over():
        if not search.stir(best, (0,), _STIRS_A_LOOK, most_steps=budget.steps):
            break
    found_hz = [chosen.frequency_hz for chosen, _ in search.carriers(best)[0]]
    found = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in found_hz]
    require_sound(found, fixed)
    return Packing(
        carriers_hz=tuple(sorted((*fixed_hz, *found_hz))),
        limit=limit,
        steps=int(best.state[kernel.STEPS]),
    )


def prepare() -> None:
    """Compile what a search needs, so that a clock set afterwards times the search alone."""
    grid = Grid(origin_hz=0, step_hz=1, windows_hz=((0, 60),))
    guards = GuardSet(spacing_hz=1, guard_2a_b_hz=1, guard_a_b_c_hz=1)
    pack_carriers(grid, guards, budget=Budget(200))
