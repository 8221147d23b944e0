"""Pack as many carriers of one kind as can be found, beside a proven upper bound."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import kernel
from planner.coordination.bounds import BoundedSet, upper_bound
from planner.coordination.pack_search import PackSearch, Starts, find_ground
from planner.coordination.records import Choice, Grid, GuardSet, Order, PlacedCarrier
from planner.coordination.search import Budget, Scan, Search, scans
from planner.coordination.verify import require_sound
from planner.coordination.walker import Walker

if TYPE_CHECKING:
    from collections.abc import Sequence

DEFAULT_STEPS = 150_000
"""Candidates tried when neither steps nor time are given."""

_STARTS = 6
_FIRST_STARTS = 400
"""Algebraic starts tried before the first repair."""
_MORE_STARTS = 300
"""Algebraic starts tried before a new beginning."""
_PATIENCE = 40
"""A new beginning is made after so many looks at the clock without a larger set."""
_STIRS_A_LOOK = 256
"""Repairs of the kernel of many rows between two looks at the clock."""
_MOVES_A_LOOK = 256
"""Moves of the packing kernel between two looks at the clock."""
_WALK_A_LOOK = 512
"""Steps of a walk between two looks at the clock."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Packing(BoundedSet):
    """A packed set.

    Attributes
    ----------
    steps : int
        Candidates put to the set during the search.
    """

    steps: int


def pack_carriers(  # noqa: PLR0913 - all but two are optional and named
    grid: Grid,
    guards: GuardSet,
    *,
    fixed_hz: Sequence[int] = (),
    most: int | None = None,
    budget: Budget | None = None,
    seed: int = 0,
    start_hz: Sequence[int] = (),
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
    start_hz : sequence of int
        A set known before [Hz], for example of narrower windows: those that still may stand
        are put first, in this order.

    Returns
    -------
    Packing
        Verified. Same input, seed and steps, same set; never smaller than ascending first-fit,
        nor than what still may stand of ``start_hz``, unless the budget ended before that.

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
    ground = find_ground(grid.points(), grid.step_hz, guards, fixed)
    if ground is None:
        found_hz, steps = _pack_widely(grid, guards, fixed, goal=goal, budget=budget, seed=seed)
    else:
        search = PackSearch(ground, goal=goal, most_steps=budget.steps, seed=seed)
        if pack_ground(search, budget, start_hz=start_hz):
            limit = min(limit, search.found + len(fixed))
        found_hz, steps = search.carriers_hz(), search.steps
    found = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in found_hz]
    require_sound(found, fixed)
    return Packing(carriers_hz=tuple(sorted((*fixed_hz, *found_hz))), limit=limit, steps=steps)


def pack_ground(search: PackSearch, budget: Budget, *, start_hz: Sequence[int] = ()) -> bool:
    """Search from a set known before, from first-fit and other starts, then repair and walk.

    Returns
    -------
    bool
        Whether every set was seen: no set is larger than the best met.
    """
    ground = search.ground
    if len(start_hz):
        search.put_all(ground.positions(start_hz))
        search.fill(Scan())
    for scan in scans(_STARTS):
        if search.steps and (search.is_over or budget.is_over()):
            return False
        search.begin()
        search.fill(scan)
    starts = Starts(search)
    starts.try_some(budget, _FIRST_STARTS)
    walker = Walker(ground) if Walker.serves(ground) else None
    quiet = 0
    search.resume()
    while not search.is_over and not budget.is_over():
        if walker is not None and _walk_on(search, walker):
            return True
        before = search.top
        if not search.stir(_MOVES_A_LOOK):
            break
        quiet = 0 if search.top > before else quiet + 1
        if quiet == _PATIENCE:
            search.set_aside()
            starts.try_some(budget, _MORE_STARTS)
            search.resume()
            quiet = 0
    return False


def _walk_on(search: PackSearch, walker: Walker) -> bool:
    """Walk a little for one carrier more than was found; say whether there is none."""
    before = walker.steps
    if walker.wanted != search.found + 1:
        walker.look_for(search.found + 1)
    places = walker.go(min(_WALK_A_LOOK, search.left))
    search.spend(walker.steps - before)
    if places is not None:
        search.begin()
        search.put_all(places)
    return walker.exhausted


def _pack_widely(
    grid: Grid,
    guards: GuardSet,
    fixed: Sequence[PlacedCarrier],
    *,
    goal: int,
    budget: Budget,
    seed: int,
) -> tuple[tuple[int, ...], int]:
    """Pack with the kernel of many rows; return the new carriers [Hz] and the steps."""
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
    found_hz = tuple(chosen.frequency_hz for chosen, _ in search.carriers(best)[0])
    return found_hz, int(best.state[kernel.STEPS])


def prepare() -> None:
    """Compile what a search needs, so that a clock set afterwards times the search alone."""
    guards = GuardSet(spacing_hz=1, guard_2a_b_hz=1, guard_a_b_c_hz=1)
    grid = Grid(origin_hz=0, step_hz=1, windows_hz=((0, 20),))
    ground = find_ground(grid.points(), grid.step_hz, guards)
    if ground is None:
        return
    search = PackSearch(ground)
    search.put_all(ground.candidates[:1])
    search.fill(Scan())
    search.stir(1)
    walker = Walker(ground)
    walker.look_for(3)
    walker.go(1)
