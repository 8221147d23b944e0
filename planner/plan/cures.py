"""What would help where carriers are missing: every cure is computed, none is guessed."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import coordinate
from planner.coordination.route import orders_of
from planner.coordination.stand_ins import add_stand_ins, undealt
from planner.coordination.two_ways import return_name
from planner.occupancy import compute_windows
from planner.plan.blocks import missing_links
from planner.plan.duplex import with_returns
from planner.plan.scope import excluded_at
from planner.plan.survey import occupancy_with
from planner.plan.tasks import Scene, TaskMaker
from planner.ranking import fold_counts
from planner.records import Licence

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from planner.coordination.tasks import NeedTask, StopTask
    from planner.occupancy import Occupancy
    from planner.plan.choice import Chosen
    from planner.plan.survey import Survey
    from planner.records import Need, Settings, Stop

FEWER_SPARES, FAINT, COORDINATES = "fewer-spares", "faint", "coordinates"
LICENCE, SECOND_RANGE, DROP_STOP = "licence", "second-range", "drop-stop"
ORDER = (FEWER_SPARES, FAINT, COORDINATES, LICENCE, SECOND_RANGE, DROP_STOP)
"""Cures from cheap to dear (our own order)."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Cure:
    """Something that would help a need at a stop.

    Attributes
    ----------
    cure : str
        One of :data:`ORDER`.
    text : str
        What to do and what it gives.
    missing_after : int
        Carriers of the need still missing then.
    """

    cure: str
    text: str
    missing_after: int


def find_cures(
    scene: Scene,
    found: Survey,
    chosen: Chosen,
) -> dict[tuple[str, str], tuple[Cure, ...]]:
    """Return the cures of every shortage, by stop and need, from cheap to dear.

    Parameters
    ----------
    scene, found, chosen : Scene, Survey, Chosen
        The tour as it is planned.

    Notes
    -----
    Each cure is tried alone, at its stop, with all needs coordinated together; only those that
    leave less missing, of the need and at the stop in all, are given, and dropping the stop. The
    sets are found, so that what is said to be left missing can be reached; a longer search may do
    better.
    """
    cures = {}
    for index, stop in enumerate(scene.stops):
        missing = chosen.route.stops[index].missing
        if not missing:
            continue
        trial = _Trial(scene, found, chosen, index)
        for name, count in missing.items():
            need = scene.need(name)
            rows = [
                row
                for row in (
                    *trial.fewer_spares(need),
                    *trial.elsewhere(need),
                    *trial.second_range(need, count),
                )
                if row.missing_after < count
            ]
            rows.append(_without_stop(chosen, stop))
            cures[stop.id, name] = tuple(sorted(rows, key=lambda row: ORDER.index(row.cure)))
    return cures


class _Trial:
    """Coordinates one stop anew with something changed."""

    def __init__(self, scene: Scene, found: Survey, chosen: Chosen, index: int) -> None:
        self._scene, self._found, self._chosen = scene, found, chosen
        self._index = index
        self._ranges = {
            need: tuple(row.key for row in rows) for need, rows in chosen.choice.items()
        }
        self._elsewhere: list[tuple[str, str, dict[str, int]]] | None = None

    def _helps(self, after: Mapping[str, int]) -> bool:
        """Say whether less is missing at the stop in all: nothing is only moved to other needs."""
        before = self._chosen.route.stops[self._index].missing
        less: bool = sum(after.values()) < sum(before.values())
        return less

    @property
    def _stop(self) -> Stop:
        return self._scene.stops[self._index]

    def fewer_spares(self, need: Need) -> Iterator[Cure]:
        """Try fewer spares, one by one, until nothing is missing."""
        task = self._chosen.maker.task(self._index, self._ranges)
        blocks = next((row for row in task.needs if row.name == need.name and row.holds), None)
        if blocks is not None:
            yield from self._no_spare_block(need, task, blocks)
            return
        for spares in reversed(range(need.spares)):
            needs = tuple(
                dataclasses.replace(
                    row, spares=row.spares[:spares], stand_ins=row.stand_ins[:spares]
                )
                if row.name in (need.name, return_name(need.name))
                else row
                for row in task.needs
            )
            left = _missing(dataclasses.replace(task, needs=needs))
            after = left[need.name]
            if after == 0 and self._helps(left):
                few = f"{spares or 'no'} spare{'s' * (spares != 1)}"
                text = f"{few} instead of {need.spares}: {_left(after)}"
                yield Cure(cure=FEWER_SPARES, text=text, missing_after=after)
                return

    def _no_spare_block(self, need: Need, task: StopTask, blocks: NeedTask) -> Iterator[Cure]:
        """Try without the spare blocks; then the loss of one takes all its links."""
        if not blocks.spares:
            return
        bare = dataclasses.replace(blocks, spares=())
        needs = tuple(bare if row is blocks else row for row in task.needs)
        left = _missing(dataclasses.replace(task, needs=needs))
        if self._helps(left):
            text = f"no spare block, its loss covered otherwise: {_left(left[need.name])}"
            yield Cure(cure=FEWER_SPARES, text=text, missing_after=left[need.name])

    def second_range(self, need: Need, missing: int) -> Iterator[Cure]:
        """Try each further range beside the chosen ones; the best is given."""
        best: tuple[int, str] | None = None
        for row in self._chosen.ranking[need.name]:
            key = row.range_key
            if key in self._ranges[need.name]:
                continue
            beside = () if self._alone(need, key) else self._ranges[need.name]
            ranges = {**self._ranges, need.name: (*beside, key)}
            left = _missing(self._chosen.maker.task(self._index, ranges))
            after = left[need.name]
            if self._helps(left) and (best is None or after < best[0]):
                best = (after, key)
            if best is not None and best[0] == 0:
                break
        if best is not None and best[0] < missing:
            here = " and ".join(self._ranges[need.name])
            word = "instead of" if self._alone(need, best[1]) else "beside"
            text = f"{best[1]} {word} {here}: {_left(best[0])}"
            yield Cure(cure=SECOND_RANGE, text=text, missing_after=best[0])

    def _alone(self, need: Need, key: str) -> bool:
        """Say whether a range cannot stand beside the chosen ones, as one of them is in blocks."""
        keys = {*self._ranges[need.name], key}
        return any(row.links_per_block for row in self._scene.gear if row.key in keys)

    def elsewhere(self, need: Need) -> Iterator[Cure]:
        """Try a licence, the faint spans, the venue's coordinates: the same for all needs."""
        if self._elsewhere is None:
            self._elsewhere = list(self._changes())
        for cure, text, after in self._elsewhere:
            left = after[need.name]
            if self._helps(after):
                yield Cure(cure=cure, text=f"{text}: {_left(left)}", missing_after=left)

    def _changes(self) -> Iterator[tuple[str, str, dict[str, int]]]:
        scene, index = self._scene, self._index
        tour, occupancy = scene.tour, scene.occupancies[index]
        if tour.settings.use_faint != "all":
            settings = dataclasses.replace(tour.settings, use_faint="all")
            text = 'lines on faint spans too (use_faint = "all"), after looking on site'
            yield FAINT, text, self._with(occupancy, settings)
        at_point = self._found.point_occupancies[index]
        if at_point is not occupancy:
            text = "the venue's own lat and lon, if they are those of the point given"
            yield COORDINATES, text, self._with(at_point, tour.settings)
        held = {licence.kind for licence in occupancy.facts.licences}
        for kind in scene.rules[index].licence_kinds:
            if kind in held:
                continue
            licence = Licence(country=self._stop.country, kind=kind)
            changed = dataclasses.replace(tour, licences=(*tour.licences, licence))
            licensed = occupancy_with(self._found, changed, self._stop)
            text = f"a licence of kind {kind} for this stop"
            yield LICENCE, text, self._with(licensed, tour.settings)

    def _with(self, occupancy: Occupancy, settings: Settings) -> dict[str, int]:
        """Return what is missing with another occupancy or other settings."""
        scene = self._scene
        tour = dataclasses.replace(scene.tour, settings=settings)
        rules = scene.rules[self._index]
        keys = {key for keys in self._ranges.values() for key in keys}
        windows = {
            (row.key, self._stop.id): compute_windows(
                row,
                occupancy,
                rules=rules,
                settings=settings,
                excluded=excluded_at(tour, self._stop),
            )
            for row in with_returns(scene.gear)
            if (row.return_of or row.key) in keys
        }
        changed = Scene(
            tour=tour,
            gear=scene.gear,
            stops=(self._stop,),
            rules=(rules,),
            occupancies=(occupancy,),
            windows=windows,
        )
        return _missing(TaskMaker(changed).task(0, self._ranges))


def _missing(task: StopTask) -> dict[str, int]:
    answer = coordinate(orders_of(task, {}), task.fixed, company=task.company, effort="quick")
    left = add_stand_ins(task, undealt(task, answer)).missing
    return fold_counts(
        {need.name: missing_links(need, left.get(need.name, 0)) for need in task.needs},
        worst="most",
    )


def _left(missing: int) -> str:
    return f"{missing} still missing" if missing else "nothing missing"


def _without_stop(chosen: Chosen, stop: Stop) -> Cure:
    others = [row for row in chosen.route.stops if row.stop_id != stop.id]
    short = [row.stop_id for row in others if row.missing]
    if not others:
        text = "without this stop nothing is left of the tour"
    elif short:
        named = ", ".join(short[:3]) + (" ..." if len(short) > 3 else "")
        text = (
            f"without this stop; but {len(short)} of {len(others)} others are short too ({named})"
        )
    else:
        met = f"all other {len(others)} are" if len(others) > 1 else "the other one is"
        text = f"without this stop {met} met with the same ranges"
    return Cure(cure=DROP_STOP, text=text, missing_after=0)
