"""Every carrier on the air at one stop, with what the plan knows of it."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import GuardSet, PlacedCarrier
from planner.plan.blocks import names_at, names_of_block
from planner.plan.duplex import BACK, SEND, with_returns
from planner.plan.scope import fixed_at, others_at, serves
from planner.plan.tasks import other_carrier
from planner.ranking import guards_of
from planner.records.gear import RETURN

if TYPE_CHECKING:
    from planner.coordination.names import Use
    from planner.plan.assignments import AssignedPoint
    from planner.plan.pipeline import PlanResult
    from planner.records import FixedCarrier, GearRange, Need, Other


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Placed:
    """One carrier on the air at the stop: ours to choose, fixed, or somebody else's."""

    name: str
    need: Need | None
    fixed: FixedCarrier | None
    other: Other | None
    gear: GearRange | None
    frequency_hz: int
    spare: bool = False
    use: Use | None = None
    group: int = 0
    point: AssignedPoint | None = None
    direction: str = ""
    stands_in_for: tuple[str, ...] = ()
    holds: tuple[str, ...] = ()

    @property
    def ours(self) -> bool:
        """Whether it is ours to choose."""
        return self.need is not None

    @property
    def occupied_hz(self) -> tuple[int, int]:
        """Edges of the occupied bandwidth [Hz]."""
        if self.other is not None:
            return self.other.low_hz, self.other.high_hz
        half = (self.gear.bandwidth_hz + 1) // 2 if self.gear else 0
        return self.frequency_hz - half, self.frequency_hz + half

    @property
    def on_air(self) -> PlacedCarrier:
        """What coordination sees of it."""
        if self.other is not None:
            carrier = other_carrier(self.other, self.group)
            if carrier is not None:
                return carrier
        guards = guards_of(self.gear) if self.gear else GuardSet(spacing_hz=0)
        return PlacedCarrier(frequency_hz=self.frequency_hz, guards=guards, group=self.group)


def placed_at(result: PlanResult, index: int) -> list[Placed]:
    """Return every carrier of a stop: those of needs in their order, fixed ones, other people's.

    Parameters
    ----------
    result, index : PlanResult, int
        The plan, and which stop.
    """
    stop, chosen = result.stops[index], result.route.stops[index].carriers
    stand_ins = result.route.stops[index].stand_ins
    company = result.companies[index]
    by_key = {gear.key: gear for gear in with_returns(result.gear)}
    found: list[Placed] = []
    for need in result.tour.needs:
        if not serves(need.stops, stop) or need.name not in result.choice:
            continue
        named = names_at(result, need)
        assigned = result.assigned.get((stop.id, need.name), ())
        for name, spare in named:
            ways = [way for way in ("", RETURN) if (need.name + way, name) in chosen]
            for way in ways:
                use = chosen[need.name + way, name]
                points = (points.at(use.frequency_hz) for points in assigned if not way)
                found.append(
                    Placed(
                        name=name,
                        need=need,
                        fixed=None,
                        other=None,
                        gear=by_key[use.range_key],
                        frequency_hz=use.frequency_hz,
                        spare=spare,
                        use=use,
                        group=company.group(need.name, by_key[use.range_key]),
                        holds=names_of_block(need, by_key[use.range_key], name),
                        point=next((row for row in points if row and not row.refusal), None),
                        direction=(BACK if way else SEND) if len(ways) > 1 else "",
                        stands_in_for=stand_ins.get((need.name + way, name), ()),
                    )
                )
    found += [
        Placed(
            name=row.name,
            need=None,
            fixed=row,
            other=None,
            gear=by_key[row.range_key],
            frequency_hz=row.frequency_hz,
            group=group,
        )
        for row, group in zip(fixed_at(result.tour, stop), company.fixed, strict=True)
    ]
    found += [
        Placed(
            name=row.owner,
            need=None,
            fixed=None,
            other=row,
            gear=None,
            frequency_hz=row.frequency_hz,
            group=group,
        )
        for row, group in zip(others_at(result.tour, stop), company.others, strict=True)
        if row.frequency_hz is not None
    ]
    return found
