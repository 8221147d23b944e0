"""Who is on with whom at a stop: times of day, zones, in-ear transmitters apart from receivers."""

from __future__ import annotations

import dataclasses
import functools
import math
import operator
from typing import TYPE_CHECKING

from planner.coordination.blocks import BlockKind, edge_distance_hz
from planner.coordination.company import ALWAYS, TOGETHER, Company, Group
from planner.plan.hours import Slots
from planner.plan.scope import fixed_at, others_at, reserves_at, serves
from planner.plan.zones import DEFAULT_POWER_MW, LeftOut, Zone, floor_dbm, left_out
from planner.ranking import considered
from planner.units import convert_power_mw, mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from planner.records import FixedCarrier, GearRange, Need, Other, Stop, Tour

IN_EAR = "in-ear"
"""The role whose carriers are sent from the rack, beside the receivers of the others."""
RECEIVED = "received"
"""Side of every carrier of ours that is received at the rack."""
_GroupKey = tuple[int, str, str, BlockKind | None]
"""Hours, zone, side, and what kind of blocks, where that tells carriers apart."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopCompany:
    """The company of a stop, and who belongs to which group.

    Attributes
    ----------
    company : Company
        The groups; the plain one where everybody is on together in one place.
    needs : mapping of str to int
        Group of each need served at the stop, by name.
    blocks : mapping of (str, BlockKind) to int
        Group of each need where it is served by blocks of a kind.
    fixed, others, reserves : tuple of int
        Groups of the fixed carriers, of what others use, of the reserves, in the order in which
        the tour gives those of the stop.
    left_out : tuple of LeftOut
        Products between zones that nobody can hear.
    lowest_hz : int
        Frequency at which loss between zones was computed [Hz]; 0 where there are no zones.
    """

    company: Company = TOGETHER
    needs: Mapping[str, int]
    blocks: Mapping[tuple[str, BlockKind], int] = dataclasses.field(default_factory=dict)
    fixed: tuple[int, ...] = ()
    others: tuple[int, ...] = ()
    reserves: tuple[int, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    lowest_hz: int = 0

    def group(self, need: str, row: GearRange) -> int:
        """Return the group of a need's carriers in a range."""
        if row.links_per_block:
            return self.blocks[need, BlockKind.of(row)]
        return self.needs[need]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Member:
    """Carriers of one need, fixed carrier, other use or reserve.

    Attributes
    ----------
    active, zone, side : tuple of str, str, str
        When, where, and whether sent from the rack or received there (empty: not ours).
    rows : tuple of GearRange
        Catalogue rows it may use.
    lowest_hz : int or None
        The lowest of its carriers [Hz].
    block : BlockKind or None
        What kind of blocks it is, None for carriers.
    """

    active: tuple[str, ...]
    zone: str
    side: str
    rows: tuple[GearRange, ...] = ()
    other: Other | None = None
    lowest_hz: int | None = None
    block: BlockKind | None = None


def company_at(tour: Tour, stop: Stop, gear: Sequence[GearRange]) -> StopCompany:
    """Return who is on with whom at a stop.

    Parameters
    ----------
    tour, stop : Tour, Stop
        The tour and one of its stops.
    gear : sequence of GearRange
        The catalogue: powers and noise of every row that a need may use count, chosen or not.

    Notes
    -----
    Groups are no more than what tells carriers apart: times where some never meet, zones where
    some products are left out, sides where in-ear carriers are kept apart.
    """
    needs = [need for need in tour.needs if serves(need.stops, stop)]
    by_key = {row.key: row for row in gear}
    block_kinds = [
        (need, kind)
        for need in needs
        for kind in dict.fromkeys(
            BlockKind.of(row) for row in considered(need, gear) if row.links_per_block
        )
    ]
    members = [
        *(_member(need.active, need.zone, need.role, considered(need, gear)) for need in needs),
        *(_fixed_member(row, by_key.get(row.range_key)) for row in fixed_at(tour, stop)),
        *(
            _Member(
                active=row.active, zone=row.zone, side="", other=row, lowest_hz=row.frequency_hz
            )
            for row in others_at(tour, stop)
        ),
        *(
            _member((), row.zone, row.role, [it for it in gear if it.role == row.role])
            for row in reserves_at(tour, stop)
        ),
        *(_block_member(need, kind, gear) for need, kind in block_kinds),
    ]
    lowest_hz = min((row.lowest_hz for row in members if row.lowest_hz), default=0)
    quiet = _left_out(tour, members, lowest_hz)
    separation_hz = mhz_to_hz(tour.settings.in_ear_separation_mhz)
    company, groups = _grouped(members, unheard=quiet, separation_hz=separation_hz)
    ends = [
        len(needs),
        len(fixed_at(tour, stop)),
        len(others_at(tour, stop)),
        len(reserves_at(tour, stop)),
    ]
    parts = []
    for end in ends:
        parts.append(groups[:end])
        groups = groups[end:]
    return StopCompany(
        company=company,
        needs={need.name: group for need, group in zip(needs, parts[0], strict=True)},
        fixed=tuple(parts[1]),
        others=tuple(parts[2]),
        reserves=tuple(parts[3]),
        blocks={
            (need.name, kind): group
            for (need, kind), group in zip(block_kinds, groups, strict=True)
        },
        left_out=quiet,
        lowest_hz=lowest_hz if quiet else 0,
    )


def _member(active: tuple[str, ...], zone: str, role: str, rows: Iterable[GearRange]) -> _Member:
    known = tuple(rows)
    return _Member(
        active=active,
        zone=zone,
        side=IN_EAR if role == IN_EAR else RECEIVED,
        rows=known,
        lowest_hz=min(
            (min(row.low_hz, row.duplex_low_hz or row.low_hz) for row in known), default=None
        ),
    )


def _fixed_member(row: FixedCarrier, gear: GearRange | None) -> _Member:
    member = _member(row.active, row.zone, row.role, [gear] if gear else [])
    block = BlockKind.of(gear) if gear and gear.links_per_block else None
    return dataclasses.replace(member, lowest_hz=row.frequency_hz, block=block)


def _block_member(need: Need, kind: BlockKind, gear: Sequence[GearRange]) -> _Member:
    rows = [row for row in considered(need, gear) if row.links_per_block]
    rows = [row for row in rows if BlockKind.of(row) == kind]
    return dataclasses.replace(_member(need.active, need.zone, need.role, rows), block=kind)


def _grouped(
    members: Sequence[_Member], *, unheard: Sequence[LeftOut], separation_hz: int
) -> tuple[Company, list[int]]:
    """Return the company, and the group of each member."""
    slots = Slots.of(row.active for row in members)
    masks = [slots.mask(row.active) for row in members]
    # where there is a slot in which all are on, everybody meets everybody
    timed = functools.reduce(operator.and_, masks, ~0) == 0
    sides = {row.side for row in members}
    apart = separation_hz > 0 and {IN_EAR, RECEIVED} <= sides
    known: dict[_GroupKey, int] = {}
    found = []
    for row, mask in zip(members, masks, strict=True):
        key = (
            mask if timed else ALWAYS,
            row.zone if unheard else "",
            row.side if apart else "",
            row.block,
        )
        found.append(known.setdefault(key, len(known)))
    blocks = any(row.block is not None for row in members)
    if len(known) < 2 and not blocks:
        return TOGETHER, [0] * len(members)
    company = Company(
        groups=tuple(Group(hours=mask, zone=zone) for mask, zone, *_ in known),
        unheard=frozenset((row.victim, row.sources) for row in unheard),
        separations_hz=(
            *(
                (one, two, separation_hz)
                for (_, _, first, _), one in known.items()
                for (_, _, second, _), two in known.items()
                if (first, second) == (IN_EAR, RECEIVED)
            ),
            *(_block_distances(known, members, separation_hz=separation_hz) if blocks else ()),
        ),
        silent=frozenset(group for (*_, block), group in known.items() if block is not None),
    )
    return company, found


def _block_distances(
    known: Mapping[_GroupKey, int], members: Sequence[_Member], *, separation_hz: int
) -> Iterator[tuple[int, int, int]]:
    """Yield the least distances of blocks from each other and from all carriers [Hz].

    All carriers keep the most that any row which may stand at the stop asks for.
    """
    rows = [row for member in members if not member.block for row in member.rows]
    rows = [row for row in rows if not row.links_per_block]
    edge_hz = max((edge_distance_hz(row) for row in rows), default=0)
    half_hz = max(((row.bandwidth_hz + 1) // 2 for row in rows), default=0)
    for (_, _, side, block), one in known.items():
        if block is None:
            continue
        for (_, _, other_side, other), two in known.items():
            if other is None:
                least_hz = block.from_carrier_hz(edge_hz=edge_hz, half_hz=half_hz)
            else:
                least_hz = block.from_block_hz(other)
            if {side, other_side} == {IN_EAR, RECEIVED}:
                least_hz = max(
                    least_hz, block.half_hz + separation_hz + (other.half_hz if other else 0)
                )
            yield one, two, least_hz


def _left_out(tour: Tour, members: Sequence[_Member], lowest_hz: int) -> tuple[LeftOut, ...]:
    """Return the products between the zones of a stop that are too weak to be heard."""
    zones: dict[str, Zone] = {}
    for row in members:
        zones[row.zone] = _joined(zones.get(row.zone, Zone()), _zone(tour, row))
    pairs = [row for row in tour.zone_pairs if row.a in zones and row.b in zones]
    if not pairs or not lowest_hz:
        return ()
    return left_out(zones, pairs, frequency_hz=lowest_hz)


def _zone(tour: Tour, member: _Member) -> Zone:
    """Return what a member brings to its zone."""
    default_db = tour.settings.reference_noise_figure_db
    if member.other is not None:
        row = member.other
        return Zone(
            power_dbm=None if row.frequency_hz is None else _eirp_dbm(DEFAULT_POWER_MW),
            floor_dbm=(
                floor_dbm(
                    max(1, row.high_hz - row.low_hz),
                    noise_figure_db=None,
                    default_noise_figure_db=default_db,
                )
                if row.protect
                else None
            ),
        )
    powers = [
        _eirp_dbm(max(row.powers_mw, default=DEFAULT_POWER_MW), row.power_kind)
        for row in member.rows
    ]
    floors = [
        floor_dbm(
            row.bandwidth_hz,
            noise_figure_db=row.noise_figure_db,
            sensitivity_dbm=row.sensitivity_dbm,
            required_snr_db=row.required_snr_db,
            default_noise_figure_db=default_db,
        )
        for row in member.rows
    ]
    return Zone(
        power_dbm=max(powers, default=_eirp_dbm(DEFAULT_POWER_MW)),
        floor_dbm=min(floors, default=None),
    )


def _joined(one: Zone, two: Zone) -> Zone:
    powers = [zone.power_dbm for zone in (one, two) if zone.power_dbm is not None]
    floors = [zone.floor_dbm for zone in (one, two) if zone.floor_dbm is not None]
    return Zone(power_dbm=max(powers, default=None), floor_dbm=min(floors, default=None))


def _eirp_dbm(power_mw: float, kind: str = "EIRP") -> float:
    """Return a power setting as EIRP [dBm]; conducted power with a half-wave dipole."""
    return 10 * math.log10(convert_power_mw(power_mw, kind, "EIRP"))
