"""Records of a route: what each stop asks for, and what it got."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination.company import TOGETHER, Company
from planner.coordination.names import Use

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.coordination.records import Choice, Chosen, PlacedCarrier

LineKey = tuple[str, str]
"""Need and line name; spares are named too."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NeedTask:
    """What one need asks for at one stop.

    Attributes
    ----------
    name : str
        Name of the need.
    choices : tuple of Choice
        Ranges it may use.
    lines, spares : tuple of str
        Names, one a carrier wanted.
    units : int
        Packs that follow each line.
    pair_with : str
        Need of the same performers, or empty.
    powers : mapping of str to tuple of (int, int, float or None)
        By range: low and high edge of occupied spectrum [Hz] and the power setting there [mW].
    half_width_hz : mapping of str to int
        By range: half the occupied bandwidth [Hz].
    widths_hz : mapping of str to int
        By range: the width that one transmitter can tune, where that is less than the range [Hz].
    limit : int or None
        A proven bound of its carriers here, where one is known.
    group : int
        Group of its carriers in the stop's company.
    stand_ins : tuple of str
        Names of further spares, each of which only has to fit in the place of a line.
    two_way : bool
        Whether every name has another carrier, of another need, for the way back: then nothing
        stands in for one of the two alone.
    holds : mapping of str to tuple of str
        Where names are those of wideband blocks: the lines, or spares, in each.
    """

    name: str
    choices: tuple[Choice, ...]
    lines: tuple[str, ...]
    spares: tuple[str, ...]
    units: int = 1
    pair_with: str = ""
    powers: Mapping[str, tuple[tuple[int, int, float | None], ...]] = dataclasses.field(
        default_factory=dict
    )
    half_width_hz: Mapping[str, int] = dataclasses.field(default_factory=dict)
    widths_hz: Mapping[str, int] = dataclasses.field(default_factory=dict)
    limit: int | None = None
    group: int = 0
    stand_ins: tuple[str, ...] = ()
    two_way: bool = False
    holds: Mapping[str, tuple[str, ...]] = dataclasses.field(default_factory=dict)

    def held(self, name: str) -> tuple[str, ...]:
        """Return the lines, or spares, that a name stands for: those of a block, or itself."""
        return self.holds.get(name, (name,))

    @property
    def most_held(self) -> int:
        """Lines of the fullest block, 1 where names are lines themselves."""
        return max((len(names) for names in self.holds.values()), default=1)

    @property
    def names(self) -> tuple[str, ...]:
        """Lines, then spares."""
        return (*self.lines, *self.spares)

    @property
    def every_name(self) -> tuple[str, ...]:
        """Lines, spares, then stand-ins."""
        return (*self.names, *self.stand_ins)

    def use(self, range_key: str, frequency_hz: int, *, main: bool) -> Use:
        """Return a carrier with the power setting that it gets."""
        half = self.half_width_hz.get(range_key, 0)
        power = next(
            (
                power
                for low, high, power in self.powers.get(range_key, ())
                if low <= frequency_hz - half and frequency_hz + half <= high
            ),
            None,
        )
        return Use(range_key=range_key, frequency_hz=frequency_hz, power_mw=power, main=main)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopTask:
    """What one stop asks for, all needs together, around its fixed carriers.

    Attributes
    ----------
    keep : mapping of (need, line) to Use
        Carriers of an earlier plan for this very stop, tried before anything else.
    settled : bool
        True when nothing changed since that plan: its carriers are the answer, and what it
        could not fill stays missing.
    known : mapping of str to tuple of Chosen
        A set found before for this stop, by need: taken where the search finds less.
    separation_hz : int
        Least distance of the two carriers of one performer [Hz].
    company : Company
        Who is on with whom.
    channels_hz : tuple of (int, int)
        Edges of the TV channels there, ascending [Hz].
    rises : tuple of (int, int, float)
        Low and high edge [Hz] and the noise rise between them [dB], where it is known.
    keep_stand_ins : mapping of (need, name) to Use
        Stand-ins of an earlier plan for this very stop.
    """

    stop_id: str
    rig: str
    needs: tuple[NeedTask, ...]
    fixed: tuple[PlacedCarrier, ...] = ()
    keep: Mapping[LineKey, Use] = dataclasses.field(default_factory=dict)
    settled: bool = False
    known: Mapping[str, tuple[Chosen, ...]] = dataclasses.field(default_factory=dict)
    separation_hz: int = 0
    company: Company = TOGETHER
    channels_hz: tuple[tuple[int, int], ...] = ()
    rises: tuple[tuple[int, int, float], ...] = ()
    keep_stand_ins: Mapping[LineKey, Use] = dataclasses.field(default_factory=dict)

    @property
    def names(self) -> tuple[LineKey, ...]:
        """Every name of every need."""
        return tuple((need.name, name) for need in self.needs for name in need.names)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopCarriers:
    """The carriers of one stop.

    Attributes
    ----------
    carriers : mapping of (need, line) to Use
        What every line and spare got that got anything.
    missing : mapping of str to int
        Carriers missing, by need; needs that are met are left out.
    stand_ins : mapping of (need, name) to tuple of str
        Spares among the carriers that are never on beside all others: each only in the place of
        one of these lines of its need.
    """

    stop_id: str
    carriers: Mapping[LineKey, Use]
    missing: Mapping[str, int]
    stand_ins: Mapping[LineKey, tuple[str, ...]] = dataclasses.field(default_factory=dict)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Leg:
    """Consecutive stops of one rig over which no line changes its frequency or range."""

    stop_ids: tuple[str, ...]
    carriers: Mapping[LineKey, Use]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RoutePlan:
    """Carriers of every stop in the order given, the legs, and the steps counted."""

    stops: tuple[StopCarriers, ...]
    legs: tuple[Leg, ...]
    steps: int
