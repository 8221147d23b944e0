"""Frequencies kept free and compatible for people who turn up: after all needs, never before."""

from __future__ import annotations

import dataclasses
from collections import Counter
from typing import TYPE_CHECKING, Any

from planner.coordination import Choice, Grid, GuardSet, PlacedCarrier, coordinate, require_sound
from planner.coordination.records import Order, Wish
from planner.plan.previous import matched_rows
from planner.plan.scope import serves
from planner.ranking import grid_of, guards_of
from planner.spectrum import shrink
from planner.spectrum.grids import intersect_closed
from planner.units import hz_to_mhz, mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination import Effort
    from planner.coordination.tasks import StopCarriers, StopTask
    from planner.plan.company import StopCompany
    from planner.plan.previous import Previous
    from planner.plan.tasks import Scene
    from planner.records import GearRange, Reserve, Tour


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Reserved:
    """One frequency kept free.

    Attributes
    ----------
    name : str
        ``"reserve <role> <n>"``.
    role, zone : str
        As the tour file says.
    frequency_hz, bandwidth_hz : int
        Centre and occupied bandwidth [Hz].
    ranges : tuple of str
        Catalogue rows that can be tuned there.
    """

    name: str
    role: str
    zone: str
    frequency_hz: int
    bandwidth_hz: int
    ranges: tuple[str, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopReserves:
    """What is kept free at a stop.

    Attributes
    ----------
    kept : tuple of Reserved
        In the order of their names.
    missing : tuple of str
        Names for which nothing was found.
    """

    kept: tuple[Reserved, ...] = ()
    missing: tuple[str, ...] = ()


class _Rows:
    """The catalogue rows of a reserve at a stop, with the grids and guards it is chosen by."""

    def __init__(self, scene: Scene, index: int, reserve: Reserve) -> None:
        stop, raster_hz = scene.stops[index], scene.rules[index].carrier_raster_hz
        rows = reserve_rows(reserve, scene.gear)
        guards = _widest(rows, reserve)
        self.guards = guards
        self.choices = []
        for row in rows:
            width_hz = max(row.bandwidth_hz, reserve.bandwidth_hz)
            inside = shrink(scene.windows[row.key, stop.id].clear_hz, bandwidth_hz=width_hz)
            grid = grid_of(row, raster_hz, intersect_closed(inside, row.centre_spans_hz))
            self.choices.append(
                Choice(
                    range_key=row.key,
                    guards=guards,
                    grid=grid,
                    spare_grid=dataclasses.replace(grid, windows_hz=()),
                )
            )

    def able(self, frequency_hz: int) -> tuple[str, ...]:
        """Return the rows that can be tuned to a frequency here."""
        return tuple(
            choice.range_key for choice in self.choices if _holds(choice.grid, frequency_hz)
        )


def reserve_rows(reserve: Reserve, gear: Sequence[GearRange]) -> list[GearRange]:
    """Return the catalogue rows whose spectrum a reserve may stand in: of its role, one carrier."""
    return [
        row
        for row in gear
        if row.role == reserve.role and not row.links_per_block and row.duplex_low_hz is None
    ]


def hold_reserves(
    scene: Scene,
    tasks: Sequence[StopTask],
    stops: Sequence[StopCarriers],
    *,
    companies: Sequence[StopCompany],
    effort: Effort = "normal",
    previous: Previous | None = None,
) -> tuple[StopReserves, ...]:
    """Return what is kept free at each stop, beside everything that stands there.

    Parameters
    ----------
    scene : Scene
        What is known of the tour.
    tasks, stops : sequence of StopTask, sequence of StopCarriers
        What was asked, and what was found; nothing of it is moved.
    companies : sequence of StopCompany
        Who is on with whom, one a stop.
    effort : Effort
        As for a stop of the route.
    previous : Previous or None
        An earlier plan whose reserves are kept where they still stand; after it those of the
        last stop of the same rig.

    Notes
    -----
    Nobody knows what people bring: spectrum is quiet and lawful for some row of the role, and the
    spacing and guards are the largest of all its rows. Every carrier of the stop counts as on the
    air, stand-ins too.

    Raises
    ------
    BrokenSet
        When the independent verifier refuses a reserve.
    """
    if not scene.tour.reserves:
        return tuple(StopReserves() for _ in stops)
    names = _names(scene.tour)
    before = _earlier(scene, previous)
    last: dict[tuple[str, str], int] = {}
    found = []
    for index, task in enumerate(tasks):
        rig = {name: hz for (owner, name), hz in last.items() if owner == task.rig}
        wanted = {**rig, **before.get(task.stop_id, {})}
        here = _at_stop(
            (scene, index, names),
            task,
            stops[index],
            groups=companies[index].reserves,
            wanted=wanted,
            effort=effort,
        )
        last.update({(task.rig, row.name): row.frequency_hz for row in here.kept})
        found.append(here)
    return tuple(found)


def reserves_document(found: StopReserves) -> list[dict[str, Any]]:
    """Return what is kept free at a stop, as the document holds it."""
    return [
        {
            "name": row.name,
            "role": row.role,
            "zone": row.zone,
            "frequency_mhz": hz_to_mhz(row.frequency_hz),
            "bandwidth_khz": row.bandwidth_hz / 1000,
            "ranges": list(row.ranges),
        }
        for row in found.kept
    ]


def reserve_warnings(stop_id: str, found: StopReserves) -> list[dict[str, str]]:
    """Return the warning of a stop where less is kept free than the tour file asks."""
    if not found.missing:
        return []
    text = (
        f"{len(found.missing)} of {len(found.missing) + len(found.kept)} frequencies for people "
        f"who turn up found no place beside the needs: {', '.join(found.missing)}"
    )
    return [{"code": "reserve-short", "where": stop_id, "text": text}]


def _at_stop(
    where: tuple[Scene, int, Mapping[int, tuple[str, ...]]],
    task: StopTask,
    stop: StopCarriers,
    *,
    groups: Sequence[int],
    wanted: Mapping[str, int],
    effort: Effort,
) -> StopReserves:
    scene, index, names = where
    stop_here = scene.stops[index]
    places = [k for k, row in enumerate(scene.tour.reserves) if serves(row.stops, stop_here)]
    if not places:
        return StopReserves()
    reserves = [scene.tour.reserves[place] for place in places]
    rows = [_Rows(scene, index, reserve) for reserve in reserves]
    labels = [names[place] for place in places]
    orders = [
        Order(
            name=f"reserve {number}",
            choices=tuple(row.choices),
            count=reserve.count,
            wishes=tuple(_wishes(row, [wanted[name] for name in label if name in wanted])),
            group=group,
        )
        for number, (reserve, row, label, group) in enumerate(
            zip(reserves, rows, labels, groups, strict=True)
        )
    ]
    standing = [*task.fixed, *_standing(task, stop)]
    answer = coordinate(orders, standing, company=task.company, effort=effort)
    kept: list[Reserved] = []
    missing: list[str] = []
    placed: list[PlacedCarrier] = []
    for number, filled in enumerate(answer.filled):
        dealt = _dealt(labels[number], [row.frequency_hz for row in filled.carriers], wanted)
        missing += [name for name in labels[number] if name not in dealt]
        for name, hz in dealt.items():
            reserve, group = reserves[number], groups[number]
            placed.append(PlacedCarrier(frequency_hz=hz, guards=rows[number].guards, group=group))
            kept.append(
                Reserved(
                    name=name,
                    role=reserve.role,
                    zone=reserve.zone,
                    frequency_hz=hz,
                    bandwidth_hz=reserve.bandwidth_hz,
                    ranges=rows[number].able(hz),
                )
            )
    require_sound(placed, standing, task.company)
    return StopReserves(kept=tuple(kept), missing=tuple(missing))


def _standing(task: StopTask, stop: StopCarriers) -> list[PlacedCarrier]:
    """Return every carrier chosen for a stop as what is on the air."""
    needs = {need.name: need for need in task.needs}
    found = []
    for (name, _), use in stop.carriers.items():
        need = needs[name]
        guards = next(row.guards for row in need.choices if row.range_key == use.range_key)
        found.append(PlacedCarrier(frequency_hz=use.frequency_hz, guards=guards, group=need.group))
    return found


def _wishes(rows: _Rows, wanted_hz: Sequence[int]) -> list[Wish]:
    """Return what the reserve would like to keep, each carrier once."""
    found = []
    for hz in dict.fromkeys(wanted_hz):
        keys = rows.able(hz)
        if keys:
            found.append(Wish(range_key=keys[0], frequency_hz=hz))
    return found


def _dealt(
    names: Sequence[str], found_hz: Sequence[int], wanted: Mapping[str, int]
) -> dict[str, int]:
    """Deal frequencies to names: each its own again, the others in order."""
    left = Counter(found_hz)
    dealt = {}
    for name in names:
        if left[wanted.get(name, -1)]:
            dealt[name] = wanted[name]
            left[wanted[name]] -= 1
    rest = sorted(left.elements())
    for name in names:
        if name not in dealt and rest:
            dealt[name] = rest.pop(0)
    return {name: dealt[name] for name in names if name in dealt}


def _names(tour: Tour) -> dict[int, tuple[str, ...]]:
    """Return the names of every reserve of a tour, counted on within a role."""
    taken = {name for need in tour.needs for name in (need.name, *need.lines)}
    taken |= {row.name for row in tour.fixed}
    counts: Counter[str] = Counter()
    found = {}
    for place, reserve in enumerate(tour.reserves):
        names: list[str] = []
        while len(names) < reserve.count:
            counts[reserve.role] += 1
            name = f"reserve {reserve.role} {counts[reserve.role]}"
            if name not in taken:
                names.append(name)
        found[place] = tuple(names)
    return found


def _earlier(scene: Scene, previous: Previous | None) -> dict[str, dict[str, int]]:
    """Return what an earlier plan kept free, by stop id and name [Hz]."""
    if previous is None:
        return {}
    before = previous.document["stops"]
    facts = [
        {"country": stop.country, "lat_deg": stop.lat_deg, "lon_deg": stop.lon_deg}
        for stop in scene.stops
    ]
    return {
        stop.id: {
            row["name"]: mhz_to_hz(row["frequency_mhz"])
            for row in before[place].get("reserves") or ()
        }
        for stop, place in zip(scene.stops, matched_rows(before, facts), strict=True)
        if place >= 0
    }


def _widest(rows: Sequence[GearRange], reserve: Reserve) -> GuardSet:
    """Return the largest spacing and guards of some rows."""
    guards = [guards_of(row) for row in rows]
    return GuardSet(
        spacing_hz=max(reserve.bandwidth_hz, *(row.spacing_hz for row in guards), 0),
        guard_2a_b_hz=max((row.guard_2a_b_hz for row in guards), default=0),
        guard_a_b_c_hz=max((row.guard_a_b_c_hz for row in guards), default=0),
        guard_3a_2b_hz=max((row.guard_3a_2b_hz for row in guards), default=0),
    )


def _holds(grid: Grid, hz: int) -> bool:
    return (hz - grid.origin_hz) % grid.step_hz == 0 and any(
        low <= hz <= high for low, high in grid.windows_hz
    )
