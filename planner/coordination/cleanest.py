"""Cleanest first: move finished carriers to better centres, at no price in carriers or retunes.

What is moved is a tenancy: a name's carrier over consecutive uses of one rig, from where it was
retuned to where it is retuned next. It moves as a whole, to a centre that is free at all of its
stops, so no retune is added and no guard is touched.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination import kernel
from planner.coordination.standing import NOWHERE, Standing, channels_of, partners_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from planner.coordination.names import Use
    from planner.coordination.records import Effort
    from planner.coordination.tasks import Leg, LineKey, NeedTask, RoutePlan, StopCarriers, StopTask

_ROUNDS: dict[str, int] = {"glance": 0, "quick": 1, "normal": 1, "long": 4}
_TRIES = 12
"""Centres looked at for each tenancy, the cleanest first."""
_SCALE = 1000
"""Costs are whole thousandths, so that sums are exact."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Preference:
    """What makes one free centre cleaner than another; less is cleaner.

    The weights are our own choice, in decibels of noise rise.

    Attributes
    ----------
    noise_rise : float
        A decibel of noise rise in the occupied bandwidth.
    near_product, margin : float, int
        Each guard that would close the centre if guards were ``margin`` times as wide, whether
        the carrier is the victim or a source.
    strong_neighbour, strong_db, neighbour_hz : float, float, int
        A span whose noise rise is ``strong_db`` [dB] or more right beside the carrier; falls to
        nothing at ``neighbour_hz`` [Hz].
    window_edge, edge_hz : float, int
        An edge of usable spectrum at the carrier; falls to nothing at ``edge_hz`` [Hz].
    shared_channel : float
        Each line in the TV channel of a spare of its need, and the other way round.
    least_gain : float
        A carrier is moved only for more than this.
    """

    noise_rise: float = 1.0
    near_product: float = 0.5
    margin: int = 2
    strong_neighbour: float = 2.0
    strong_db: float = 20.0
    neighbour_hz: int = 6_000_000
    window_edge: float = 0.5
    edge_hz: int = 500_000
    shared_channel: float = 0.25
    least_gain: float = 0.2


CLEANEST = Preference()
"""The weights of every plan."""


def cleaned(
    tasks: Sequence[StopTask],
    route: RoutePlan,
    *,
    preference: Preference = CLEANEST,
    effort: Effort = "normal",
) -> RoutePlan:
    """Return the route with carriers on cleaner centres, where they may move at no price.

    Parameters
    ----------
    tasks, route : sequence of StopTask, RoutePlan
        What was asked, and the answer to it.
    preference : Preference
        What is clean.
    effort : str
        How many rounds; none at ``"glance"``.

    Returns
    -------
    RoutePlan
        The same names have carriers at every stop, retuned no more often than before; ranges
        and power settings are the same, guards hold, and what an earlier plan set at a stop has
        not moved. No performer's two carriers came nearer than they may.
    """
    rounds = _ROUNDS.get(effort, 0)
    search = _Cleaner(tasks, route, preference)
    runs = [run for run in _tenancies(tasks, route) if search.may_move(run)]
    for _ in range(rounds):
        moved = False
        for place, run in enumerate(runs):
            hz = search.move(run)
            moved = moved or hz != run.frequency_hz
            runs[place] = dataclasses.replace(run, frequency_hz=hz)
        if not moved:
            break
    return search.answer()


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Tenancy:
    """A name's carrier over consecutive uses [Hz]; stops by their place on the route."""

    key: LineKey
    range_key: str
    frequency_hz: int
    stops: tuple[int, ...]


def _tenancies(tasks: Sequence[StopTask], route: RoutePlan) -> list[_Tenancy]:
    """Return the tenancies of all rigs, by first stop, need and name."""
    found: list[_Tenancy] = []
    last: dict[tuple[str, str, str], int] = {}
    for place, (task, stop) in enumerate(zip(tasks, route.stops, strict=True)):
        for key, use in stop.carriers.items():
            before = last.get((task.rig, *key))
            run = None if before is None else found[before]
            if run is not None and (run.range_key, run.frequency_hz) == _place(use):
                found[before or 0] = dataclasses.replace(run, stops=(*run.stops, place))
                continue
            last[task.rig, *key] = len(found)
            found.append(
                _Tenancy(
                    key=key,
                    range_key=use.range_key,
                    frequency_hz=use.frequency_hz,
                    stops=(place,),
                )
            )
    return found


class _Cleaner:
    """The boards of all stops, made when first needed."""

    def __init__(self, tasks: Sequence[StopTask], route: RoutePlan, preference: Preference) -> None:
        self._tasks, self._route, self._preference = tasks, route, preference
        self._uses = [dict(stop.carriers) for stop in route.stops]
        self._stops: dict[int, _Stop] = {}
        self._partners = [partners_of(task) for task in tasks]
        self._steps = 0

    def may_move(self, run: _Tenancy) -> bool:
        """Say whether a tenancy is none that an earlier plan set, nor one off the grid."""
        return not any(
            self._tasks[place].settled
            or (
                run.key in self._tasks[place].keep
                and _place(self._tasks[place].keep[run.key]) == (run.range_key, run.frequency_hz)
            )
            for place in run.stops
        )

    def move(self, run: _Tenancy) -> int:
        """Move a tenancy to the cleanest centre that is free for it; return where it is [Hz]."""
        stops = [self._stop(place) for place in run.stops]
        if any(run.key not in stop.board.there for stop in stops):
            return run.frequency_hz
        for stop in stops:
            stop.take(run.key)
        hz = self._cleanest(run, stops)
        for place, stop in zip(run.stops, stops, strict=True):
            self._uses[place][run.key] = stop.put(run, hz)
        self._steps += len(stops)
        return hz

    def answer(self) -> RoutePlan:
        """Return the route as it stands."""
        stops = tuple(
            dataclasses.replace(stop, carriers=uses)
            for stop, uses in zip(self._route.stops, self._uses, strict=True)
        )
        by_id = {stop.stop_id: stop for stop in stops}
        return dataclasses.replace(
            self._route,
            stops=stops,
            legs=tuple(_leg_again(leg, by_id) for leg in self._route.legs),
            steps=self._route.steps + self._steps,
        )

    def _stop(self, place: int) -> _Stop:
        if place not in self._stops:
            self._stops[place] = _Stop(self._tasks[place], self._uses[place], self._preference)
        return self._stops[place]

    def _cleanest(self, run: _Tenancy, stops: Sequence[_Stop]) -> int:
        hz = stops[0].free_hz(run)
        for stop in stops[1:]:
            if hz.size < 2:
                return run.frequency_hz
            hz = np.intersect1d(hz, stop.free_hz(run), assume_unique=True)
        now = np.flatnonzero(hz == run.frequency_hz)
        if hz.size < 2 or not now.size:
            return run.frequency_hz
        total = np.sum([stop.costs(run, hz) for stop in stops], axis=0)
        limit = int(total[now[0]]) - round(_SCALE * self._preference.least_gain)
        better = np.flatnonzero(total < limit)
        for k in better[np.argsort(total[better], kind="stable")][:_TRIES].tolist():
            if self._allowed(run, stops, int(hz[k])):
                return int(hz[k])
        return run.frequency_hz

    def _allowed(self, run: _Tenancy, stops: Sequence[_Stop], hz: int) -> bool:
        """Say whether gear, power and the performer's other carrier allow a centre."""
        need = stops[0].board.needs[run.key[0]]
        width = need.widths_hz.get(run.range_key)
        if width is not None and not self._tunes(run, hz, width):
            return False
        return all(
            stop.may_stand(run, hz) and self._keeps(run, place, hz)
            for place, stop in zip(run.stops, stops, strict=True)
        )

    def _keeps(self, run: _Tenancy, place: int, hz: int) -> bool:
        """Say whether power stays, and the performer's other carriers are far enough."""
        task, uses = self._tasks[place], self._uses[place]
        need = self._stop(place).board.needs[run.key[0]]
        old = uses[run.key]
        if need.use(run.range_key, hz, main=old.main).power_mw != old.power_mw:
            return False
        for other in self._partners[place].get(run.key[0], ()):
            partner = uses.get((other, run.key[1]))
            if partner is not None and abs(partner.frequency_hz - hz) < min(
                task.separation_hz, abs(partner.frequency_hz - old.frequency_hz)
            ):
                return False
        return True

    def _tunes(self, run: _Tenancy, hz: int, width_hz: int) -> bool:
        """Say whether one transmitter reaches all that the name uses on the range."""
        rig = self._tasks[run.stops[0]].rig
        before = [
            (place, uses[run.key].frequency_hz)
            for place, (task, uses) in enumerate(zip(self._tasks, self._uses, strict=True))
            if task.rig == rig and run.key in uses and uses[run.key].range_key == run.range_key
        ]
        old = [used for _, used in before]
        new = [hz if place in run.stops else used for place, used in before]
        return max(new) - min(new) <= max(width_hz, max(old) - min(old))


class _Stop:
    """One stop's carriers on two boards: guards as they are, and wider ones to see what is near."""

    def __init__(
        self, task: StopTask, carriers: Mapping[LineKey, Use], preference: Preference
    ) -> None:
        self.board = Standing(task, carriers)
        self._near = Standing(task, carriers, guard_times=preference.margin)
        self._task, self._preference = task, preference
        self._lines = {(need.name, line) for need in task.needs for line in need.lines}
        self._costs: dict[int, NDArray[np.int64]] = {}
        self._channels: dict[int, NDArray[np.int64]] = {}

    def take(self, key: LineKey) -> None:
        """Take a name's carrier out."""
        self.board.take(key)
        self._near.take(key)

    def put(self, run: _Tenancy, hz: int) -> Use:
        """Let a name's carrier stand and return it."""
        number = self.board.number(run.key, run.range_key)
        at = self.board.at(number, hz)
        self.board.put(run.key, number, at)
        self._near.put(run.key, number, at)
        main = bool(self.board.board.centres[at, kernel.MAIN])
        return self.board.needs[run.key[0]].use(run.range_key, hz, main=main)

    def may_stand(self, run: _Tenancy, hz: int) -> bool:
        """Say whether a receiver is left for a centre."""
        number = self.board.number(run.key, run.range_key)
        return bool(kernel.may_stand(self.board.board, number, self.board.at(number, hz)))

    def free_hz(self, run: _Tenancy) -> NDArray[np.int64]:
        """Return the free centres for a name that is taken out, ascending [Hz]."""
        number = self.board.number(run.key, run.range_key)
        row = self.board.search.rows[number]
        free = self.board.free(number)
        if run.key in self._lines:
            free &= row.is_main
        return row.points_hz[free]

    def costs(self, run: _Tenancy, hz: NDArray[np.int64]) -> NDArray[np.int64]:
        """Return what centres of the row cost a name that is taken out; less is cleaner."""
        number = self.board.number(run.key, run.range_key)
        places = np.searchsorted(self.board.search.rows[number].points_hz, hz)
        near = round(_SCALE * self._preference.near_product) * self._near.near(number)[places]
        cost = self._cost(number)[places] + near
        if self._task.channels_hz:
            cost += self._sharing(run.key, number)[places]
        return cost

    def _cost(self, number: int) -> NDArray[np.int64]:
        """Return what lies in the spectrum itself."""
        if number not in self._costs:
            row = self.board.search.rows[number]
            need = self._task.needs[row.need]
            self._costs[number] = _spectrum_cost(
                row.points_hz, need, row.choice.range_key, self._task.rises, self._preference
            )
        return self._costs[number]

    def _sharing(self, key: LineKey, number: int) -> NDArray[np.int64]:
        """Return what it costs to share a TV channel with spares, or as a spare with lines."""
        if number not in self._channels:
            points_hz = self.board.search.rows[number].points_hz
            self._channels[number] = channels_of(points_hz, self._task.channels_hz)
        others = [
            self.board.board.centres[at, kernel.POINT]
            for other, (_, at) in self.board.there.items()
            if other[0] == key[0] and (other in self._lines) != (key in self._lines)
        ]
        # one place more, for what lies outside the channels
        count = np.zeros(len(self._task.channels_hz) + 1, dtype=np.int64)
        theirs = channels_of(np.array(others, dtype=np.int64), self._task.channels_hz)
        np.add.at(count, theirs[theirs != NOWHERE], 1)
        return round(_SCALE * self._preference.shared_channel) * count[self._channels[number]]


def _spectrum_cost(
    points_hz: NDArray[np.int64],
    need: NeedTask,
    range_key: str,
    rises: Sequence[tuple[int, int, float]],
    preference: Preference,
) -> NDArray[np.int64]:
    """Return what noise, strong neighbours and edges of windows cost at each centre."""
    half = need.half_width_hz.get(range_key, 0)
    cost = np.zeros(points_hz.size)
    if rises and points_hz.size:
        low, high = np.array([row[:2] for row in rises], dtype=np.int64).T
        rise_db = np.array([row[2] for row in rises])
        first = np.searchsorted(high, points_hz - half, side="right")
        last = np.searchsorted(low, points_hz + half, side="left") - 1
        for place in (first, last):
            inside = (first <= last) & (place < rise_db.size)
            here = np.where(inside, rise_db[np.minimum(place, rise_db.size - 1)], 0.0)
            cost = np.maximum(cost, preference.noise_rise * here)
        strong = [
            span
            for span, db in zip(rises, rise_db.tolist(), strict=True)
            if db >= preference.strong_db
        ]
        away = _distance(points_hz, [row[:2] for row in strong])
        cost += preference.strong_neighbour * np.maximum(0.0, 1.0 - away / preference.neighbour_hz)
    choice = next(row for row in need.choices if row.range_key == range_key)
    away = _inside(
        points_hz, _merged((*choice.grid.windows_hz, *choice.spare_grid.windows_hz), 2 * half)
    )
    cost += preference.window_edge * np.maximum(0.0, 1.0 - away / preference.edge_hz)
    return np.rint(_SCALE * cost).astype(np.int64)


def _distance(
    points_hz: NDArray[np.int64], spans_hz: Sequence[tuple[int, int]]
) -> NDArray[np.float64]:
    """Return how far each frequency is from the nearest span [Hz], infinite without any."""
    away = np.full(points_hz.size, np.inf)
    for low, high in spans_hz:
        away = np.minimum(away, np.maximum(np.maximum(low - points_hz, points_hz - high), 0))
    return away


def _inside(
    points_hz: NDArray[np.int64], spans_hz: Sequence[tuple[int, int]]
) -> NDArray[np.float64]:
    """Return how far inside its span each frequency is [Hz], 0 outside all."""
    deep = np.zeros(points_hz.size)
    for low, high in spans_hz:
        deep = np.maximum(deep, np.minimum(points_hz - low, high - points_hz))
    return deep


def _merged(spans_hz: Sequence[tuple[int, int]], gap_hz: int) -> list[tuple[int, int]]:
    """Return spans united across gaps of so much or less."""
    found: list[tuple[int, int]] = []
    for low, high in sorted(spans_hz):
        if found and low - found[-1][1] <= gap_hz:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def _leg_again(leg: Leg, stops: Mapping[str, StopCarriers]) -> Leg:
    uses = {key: use for stop_id in leg.stop_ids for key, use in stops[stop_id].carriers.items()}
    return dataclasses.replace(
        leg, carriers={key: uses.get(key, old) for key, old in leg.carriers.items()}
    )


def _place(use: Use) -> tuple[str, int]:
    return use.range_key, use.frequency_hz
