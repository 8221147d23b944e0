"""What each stop asks of coordination, for given ranges."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import (
    Chassis,
    Choice,
    Grid,
    GuardSet,
    PlacedCarrier,
    count_fit,
)
from planner.coordination.blocks import counting_guards, wanted_blocks
from planner.coordination.tasks import NeedTask, StopTask
from planner.coordination.two_ways import return_name
from planner.errors import PlannerError
from planner.plan.assignments import AssignedPoints, assigned_points
from planner.plan.company import StopCompany, company_at
from planner.plan.duplex import one_way_or_single, way_back, with_returns
from planner.plan.scope import assigned_at, closed_at, fixed_at, others_at, serves, spare_names
from planner.ranking import RangeCount, grid_of, guards_of
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination import Effort
    from planner.occupancy import Occupancy, RangeWindows
    from planner.records import GearRange, Need, Other, Stop, Tour
    from planner.rules import CountryRules

OTHER_GUARD_HZ = 100_000
"""Least distance kept from a product to somebody else's protected carrier [Hz], more where half
its bandwidth is more (common practice, no source)."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Scene:
    """Everything that is known of a tour before carriers are chosen.

    Attributes
    ----------
    stops, rules, occupancies : tuple
        One a stop, in route order.
    windows : mapping of (range key, stop id)
        Windows of every range at every stop.
    """

    tour: Tour
    gear: tuple[GearRange, ...]
    stops: tuple[Stop, ...]
    rules: tuple[CountryRules, ...]
    occupancies: tuple[Occupancy, ...]
    windows: Mapping[tuple[str, str], RangeWindows]

    def need(self, name: str) -> Need:
        """Return a need by its name."""
        return next(need for need in self.tour.needs if need.name == name)


class TaskMaker:
    """Makes the task of each stop, for any ranges of the needs.

    Parameters
    ----------
    scene : Scene
        What is known.
    """

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._by_key = {row.key: row for row in with_returns(scene.gear)}
        self._choices: dict[tuple[str, str, int], Choice] = {}
        self._points: dict[tuple[str, str, int], AssignedPoints | None] = {}
        self._fixed: dict[int, tuple[PlacedCarrier, ...]] = {}
        self._company: dict[int, StopCompany] = {}
        self._channels_hz: dict[int, tuple[tuple[int, int], ...]] = {}
        self._known_rises: dict[int, tuple[tuple[int, int, float], ...]] = {}
        self._counts: Mapping[str, Mapping[tuple[str, str], RangeCount]] = {}

    def learn(self, counts: Mapping[str, Mapping[tuple[str, str], RangeCount]]) -> None:
        """Take note of counts and bounds: by need, of every range at every stop."""
        self._counts = counts

    def task(self, index: int, ranges: Mapping[str, Sequence[str]]) -> StopTask:
        """Return the task of one stop when each need uses the given ranges."""
        scene = self._scene
        stop = scene.stops[index]
        stock = {row.key: row.available for row in scene.gear if row.available is not None}
        needs: list[NeedTask] = []
        blocks: list[NeedTask] = []
        for need in scene.tour.needs:
            if ranges.get(need.name) and serves(need.stops, stop):
                keys = one_way_or_single(ranges[need.name], self._by_key)
                if self._by_key[keys[0]].links_per_block:
                    blocks.append(self._blocks(index, need, keys[0], stock))
                    continue
                task = self._need(index, need, keys, stock)
                needs.append(task)
                back = self._by_key.get(return_name(keys[0]))
                if back is not None:
                    like = self._need(index, need, (back.key,), {})
                    needs.append(way_back(task, like))
                _take_from(stock, keys, need.count)
        if index not in self._fixed:
            self._fixed[index] = self._standing(stop, self.company(index))
        return StopTask(
            stop_id=stop.id,
            rig=stop.rig,
            needs=(*blocks, *needs),  # blocks take whole windows, so they are placed first
            fixed=self._fixed[index],
            separation_hz=mhz_to_hz(scene.tour.settings.pair_separation_mhz),
            company=self.company(index).company,
            channels_hz=self._channels(index),
            rises=self._rises(index),
        )

    def _channels(self, index: int) -> tuple[tuple[int, int], ...]:
        """Return the edges of the TV channels at a stop [Hz]."""
        if index not in self._channels_hz:
            raster = self._scene.rules[index].raster
            self._channels_hz[index] = tuple((row.low_hz, row.high_hz) for row in raster)
        return self._channels_hz[index]

    def _rises(self, index: int) -> tuple[tuple[int, int, float], ...]:
        """Return where the noise rises at a stop [Hz], and by how much [dB]."""
        if index not in self._known_rises:
            self._known_rises[index] = tuple(
                (span.low_hz, span.high_hz, span.noise_rise_db)
                for span in self._scene.occupancies[index].spans
                if span.noise_rise_db is not None
            )
        return self._known_rises[index]

    def company(self, index: int) -> StopCompany:
        """Return who is on with whom at a stop."""
        if index not in self._company:
            scene = self._scene
            self._company[index] = company_at(scene.tour, scene.stops[index], scene.gear)
        return self._company[index]

    def assigned(self, index: int, need: Need, key: str) -> AssignedPoints | None:
        """Return the frequencies assigned to a need at a stop, judged for a range, or None."""
        known = (need.name, key, index)
        if known not in self._points:
            scene = self._scene
            stop = scene.stops[index]
            # a way back is free to choose: assignments name the way out
            rows = () if self._by_key[key].return_of else assigned_at(scene.tour, stop, need)
            self._points[known] = (
                assigned_points(
                    rows,
                    self._by_key[key],
                    windows=scene.windows[key, stop.id],
                    occupancy=scene.occupancies[index],
                    rules=scene.rules[index],
                    closed=closed_at(scene.tour, stop),
                )
                if rows
                else None
            )
        return self._points[known]

    def assigned_counts(
        self, need: Need, keys: Sequence[str], *, effort: Effort
    ) -> dict[tuple[str, str], RangeCount]:
        """Return what fits of assigned frequencies, for the stops that have any."""
        found = {}
        for index, stop in enumerate(self._scene.stops):
            for key in keys if serves(need.stops, stop) else ():
                points = self.assigned(index, need, key)
                if points is None:
                    continue
                choice = self._choice(index, need, key)
                row = self._by_key[key]
                guards = counting_guards(row) if row.links_per_block else choice.guards
                fit = count_fit(choice.grid, guards, effort=effort)
                found[key, stop.id] = RangeCount(
                    clear_hz=fit.carriers_hz,
                    faint_hz=(),
                    clear_limit=len(points.usable_hz),
                    faint_limit=0,
                    links=row.links_per_block or 1,
                )
        return found

    def _need(
        self, index: int, need: Need, keys: Sequence[str], stock: Mapping[str, int]
    ) -> NeedTask:
        stop = self._scene.stops[index]
        rows = [self._by_key[key] for key in keys]
        two_way = any(row.return_of or return_name(row.key) in self._by_key for row in rows)
        alone = need.spare_grade != "full" and not two_way
        together = 0 if alone else need.spares
        limit = self._limit(need, keys, stop, together)
        # one way of a line that cannot have the other would only be in the way of others
        paired = limit if two_way else None
        return NeedTask(
            name=need.name,
            choices=tuple(
                dataclasses.replace(
                    self._choice(index, need, key),
                    # a spare frequency needs no piece of its own
                    most=_least(stock[key] + together if key in stock else None, paired),
                )
                for key in keys
            ),
            lines=need.lines,
            spares=() if alone else spare_names(need),
            stand_ins=spare_names(need) if alone else (),
            two_way=two_way,
            units=need.units_per_line,
            pair_with=need.pair_with,
            powers={row.key: self._powers(index, need, row, stop) for row in rows},
            half_width_hz={row.key: (row.bandwidth_hz + 1) // 2 for row in rows},
            widths_hz={
                row.key: row.transmitter_span_hz
                for row in rows
                if row.transmitter_span_hz is not None
            },
            limit=limit,
            group=self.company(index).group(need.name, rows[0]),
        )

    def _blocks(self, index: int, need: Need, key: str, stock: dict[str, int]) -> NeedTask:
        """Return the task of a need that is served by wideband blocks of one range."""
        row = self._by_key[key]
        wanted = wanted_blocks(need, row.links_per_block)
        spares = tuple(block.name for block in wanted if block.spare)
        alike = dataclasses.replace(need, spares=len(spares), spare_grade="full")
        task = self._need(index, alike, (key,), stock)
        _take_from(stock, (key,), len(wanted) - len(spares))
        return dataclasses.replace(
            task,
            lines=tuple(block.name for block in wanted if not block.spare),
            spares=spares,
            units=need.units_per_line * max(len(block.holds) for block in wanted),
            pair_with="",
            holds={block.name: block.holds for block in wanted},
        )

    def _limit(self, need: Need, keys: Sequence[str], stop: Stop, spares: int) -> int | None:
        """Return a proven bound of the need's carriers in these ranges, None when not known."""
        if need.name not in self._counts:
            return None
        own = [self._by_key[key].return_of or key for key in keys]
        counts = [self._counts[need.name][key, stop.id] for key in own]
        return sum(count.clear_limit for count in counts) + min(
            spares, sum(count.faint_limit for count in counts)
        )

    def _powers(
        self, index: int, need: Need, row: GearRange, stop: Stop
    ) -> tuple[tuple[int, int, float | None], ...]:
        points = self.assigned(index, need, row.key)
        half = (row.bandwidth_hz + 1) // 2
        granted = [
            (point.frequency_hz - half, point.frequency_hz + half, point.power_mw)
            for point in (points.points if points else ())
            if not point.refusal
        ]
        law = self._scene.windows[row.key, stop.id].law
        return (*granted, *((span.low_hz, span.high_hz, span.power_mw) for span in law))

    def _choice(self, index: int, need: Need, key: str) -> Choice:
        known = (need.name, key, index)
        if known not in self._choices:
            self._choices[known] = self._make_choice(index, need, self._by_key[key])
        return self._choices[known]

    def _make_choice(self, index: int, need: Need, row: GearRange) -> Choice:
        scene = self._scene
        raster_hz = scene.rules[index].carrier_raster_hz
        windows = scene.windows[row.key, scene.stops[index].id]
        points = self.assigned(index, need, row.key)
        if points is None:
            grid = grid_of(row, raster_hz, windows.centres_hz)
            spare_grid = grid_of(row, raster_hz, windows.faint_centres_hz)
        else:
            grid = grid_of(row, raster_hz, [(hz, hz) for hz in points.usable_hz])
            spare_grid = Grid(origin_hz=grid.origin_hz, step_hz=grid.step_hz, windows_hz=())
        return Choice(
            range_key=row.key,
            guards=guards_of(row),
            grid=grid,
            spare_grid=spare_grid,
            chassis=_chassis(need, row),
        )

    def _standing(self, stop: Stop, company: StopCompany) -> tuple[PlacedCarrier, ...]:
        """Return the carriers that stand at a stop: fixed ones of ours, and those of others."""
        found = []
        tour = self._scene.tour
        for carrier, group in zip(fixed_at(tour, stop), company.fixed, strict=True):
            if carrier.range_key not in self._by_key:
                raise PlannerError(f"fixed carrier {carrier.name}: no range {carrier.range_key}")
            guards = guards_of(self._by_key[carrier.range_key])
            found.append(
                PlacedCarrier(frequency_hz=carrier.frequency_hz, guards=guards, group=group)
            )
        ours = [(carrier.frequency_hz, carrier.group) for carrier in found]
        for row, group in zip(others_at(tour, stop), company.others, strict=True):
            other = other_carrier(row, group)
            if other is not None:
                found.append(other)
        # one of ours on the same hertz is the source there already; theirs stays as a victim
        found = [
            dataclasses.replace(carrier, source=False)
            if place >= len(ours) and (carrier.frequency_hz, carrier.group) in ours
            else carrier
            for place, carrier in enumerate(found)
        ]
        return tuple(dict.fromkeys(found))


def _least(one: int | None, two: int | None) -> int | None:
    """Return the lesser of two numbers, of which None is no limit."""
    given = [number for number in (one, two) if number is not None]
    return min(given, default=None)


def _take_from(stock: dict[str, int], keys: Sequence[str], pieces: int) -> None:
    """Take a need's pieces out of the stock, so that the next need of the same range has less."""
    left = pieces
    for key in keys:
        if key not in stock:
            return
        taken = min(left, stock[key])
        stock[key] -= taken
        left -= taken


def other_carrier(row: Other, group: int = 0) -> PlacedCarrier | None:
    """Return somebody else's use as what coordination sees of it.

    A carrier is a source, and a victim where it is protected. Of a block the carriers are not
    known, so that it makes no products that could be computed; where it is protected, products
    are kept out of the whole of it.
    """
    half = (row.high_hz - row.low_hz + 1) // 2
    if row.frequency_hz is not None:
        guard = max(half, OTHER_GUARD_HZ) if row.protect else 0
        guards = GuardSet(
            spacing_hz=half, guard_2a_b_hz=guard, guard_a_b_c_hz=guard, guard_3a_2b_hz=0
        )
        return PlacedCarrier(frequency_hz=row.frequency_hz, guards=guards, group=group)
    if not row.protect:
        return None
    return PlacedCarrier(
        frequency_hz=(row.low_hz + row.high_hz) // 2,
        guards=GuardSet(spacing_hz=half, guard_2a_b_hz=half, guard_a_b_c_hz=half),
        source=False,
        group=group,
    )


def _chassis(need: Need, row: GearRange) -> Chassis | None:
    """Return the receivers that a need's carriers must fit, as few as hold them all."""
    if not row.chassis_channels or row.chassis_span_hz is None or row.links_per_block:
        return None
    wanted = need.count + need.full_spares
    return Chassis(
        channels=row.chassis_channels,
        span_hz=row.chassis_span_hz,
        receivers=-(-wanted // row.chassis_channels),
    )
