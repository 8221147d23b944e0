"""Records of the joint choice: combinations of ranges, and what they are chosen from."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from planner.coordination import Coordination
    from planner.coordination.tasks import StopTask
    from planner.ranking import RangeCount, RankedRange
    from planner.records import Need, Stop

Ranges = tuple[tuple[str, ...], ...]
"""One tuple of range keys a need, in the order of the needs."""
Merit = tuple[int, int, int, int, int]
"""Confirmed stops met, stops met, what is missing at the worst (0 or less), steps of 6 dB of
external noise (0 or less), worst headroom: more is better."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Combination:
    """Ranges for all needs, coordinated together at every stop.

    Attributes
    ----------
    ranges : mapping of str to tuple of str
        Range keys of each need, the preferred first.
    rank : int
        From 1.
    headrooms : mapping of str to mapping of str to int
        By stop and need: how many more carriers of the need fit beside all others when nothing
        of it is missing, else the missing ones as a negative number.
    confirmed_met, stops_met, stops : int
        Stops where nothing is missing, those confirmed among them, and stops in all.
    worst_stop : str
        The first stop with the least headroom.
    worst_headroom : mapping of str to int
        Least headroom of each need, over all stops.
    retunes, retunes_bound : int
        Lines retuned from stop to stop, and a number that no dealing of these ranges undercuts.
    why : str
        One sentence.
    noise_steps : int
        Full steps of 6 dB by which external noise lifts the floor, in the noisiest range.
    """

    ranges: Mapping[str, tuple[str, ...]]
    rank: int
    headrooms: Mapping[str, Mapping[str, int]]
    confirmed_met: int
    stops_met: int
    stops: int
    worst_stop: str
    worst_headroom: Mapping[str, int]
    retunes: int
    retunes_bound: int
    why: str
    noise_steps: int = 0

    @property
    def merit(self) -> Merit:
        """Return what decides before retunes."""
        worst = min(self.worst_headroom.values(), default=0)
        return self.confirmed_met, self.stops_met, min(worst, 0), -self.noise_steps, worst


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class JointChoice:
    """The combinations in order, and what was left out.

    Attributes
    ----------
    combinations : tuple of Combination
        The best ones, each followed to the end.
    tried, possible : int
        Combinations coordinated at one stop at least, and combinations there are.
    found : mapping of str to Coordination
        By stop: the set that the winner was judged by.
    confirmed : frozenset of str
        Ids of confirmed stops.
    better : Combination or None
        One that would come before the first, which an earlier plan keeps in its place.
    """

    combinations: tuple[Combination, ...]
    tried: int
    possible: int
    found: Mapping[str, Coordination]
    confirmed: frozenset[str] = frozenset()
    better: Combination | None = None


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Question:
    """What the joint choice is made from.

    Attributes
    ----------
    needs : tuple of Need
        All needs that some range can serve.
    stops : tuple of Stop
        In route order.
    ranking : mapping of str to sequence of RankedRange
        Ranges of each need alone.
    counts : mapping of str to mapping of (range key, stop id)
        By need: found and bound of each range alone.
    task : callable
        ``(stop index, {need: range keys}) -> StopTask``.
    retunes : callable
        ``({need: range keys}) -> (retunes, bound)`` over the route.
    owned : mapping of str to int
        Pieces that are there already, by range key: more are preferred on ties.
    available : mapping of str to int
        Pieces in stock, by range key; ranges left out have no such limit.
    noise_steps : mapping of str to int
        Full steps of 6 dB of external noise, by range key; 0 for ranges left out.
    kept : mapping of str to tuple of str
        Needs whose ranges are not open to choice.
    told_later : bool
        The winner is told by its own route afterwards (:func:`planner.joint.as_planned`): its
        retunes are counted here only where they decide, and are 0 otherwise.
    """

    needs: tuple[Need, ...]
    stops: tuple[Stop, ...]
    ranking: Mapping[str, Sequence[RankedRange]]
    counts: Mapping[str, Mapping[tuple[str, str], RangeCount]]
    task: Callable[[int, Mapping[str, tuple[str, ...]]], StopTask]
    retunes: Callable[[Mapping[str, tuple[str, ...]]], tuple[int, int]]
    owned: Mapping[str, int]
    available: Mapping[str, int]
    noise_steps: Mapping[str, int] = dataclasses.field(default_factory=dict)
    kept: Mapping[str, tuple[str, ...]] = dataclasses.field(default_factory=dict)
    told_later: bool = False
