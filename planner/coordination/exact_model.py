"""The model of one packing question for the constraint solver."""

from __future__ import annotations

import bisect
import itertools
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner.coordination.records import GuardSet


class Model:
    """Booleans on the free centres, and constraints that every valid set fulfils.

    Parameters
    ----------
    cp_model : module
        The solver's modelling module.
    points_hz : sequence of int
        Centres that new carriers may take, ascending [Hz].
    members_hz : sequence of int
        Fixed carriers that are members of every set, sound among themselves [Hz].
    guards : GuardSet
        Guards of all carriers.
    """

    def __init__(
        self,
        cp_model: Any,  # noqa: ANN401 - an optional library without types
        points_hz: Sequence[int],
        members_hz: Sequence[int],
        guards: GuardSet,
    ) -> None:
        self._guards = guards
        self.model = cp_model.CpModel()
        self._new = list(points_hz)
        self._all = sorted({*points_hz, *members_hz})
        self._on = {hz: self.model.NewBoolVar("") for hz in points_hz}
        for hz in members_hz:
            self._on[hz] = self.model.NewConstant(1)
        self._members = set(members_hz)
        self.model.Maximize(sum(self._on[hz] for hz in points_hz))

    def at_most(self, limit: int) -> None:
        """Say how many new carriers there can be."""
        self.model.Add(sum(self._on[hz] for hz in self._new) <= limit)

    def cut(self, held: int, span_hz: int) -> None:
        """Say that centres within less than a span [Hz] hold at most so many new carriers."""
        for group in _groups(self._new, span_hz - 1):
            if len(group) > held:
                self.model.Add(sum(self._on[hz] for hz in group) <= held)

    def add_spacing(self) -> None:
        """Keep carriers a spacing apart."""
        for group in _groups(self._all, self._guards.spacing_hz - 1):
            if len(group) > 1 and not self._members.issuperset(group):
                self.model.AddAtMostOne(self._on[hz] for hz in group)

    def add_middles(self) -> None:
        """Keep every carrier from the middle of two others: abs(x + z - 2 y) >= guard 2A-B.

        Left out where the differences say it.
        """
        guards = self._guards
        guard_hz = guards.guard_2a_b_hz
        if not guard_hz or guard_hz <= min(guards.spacing_hz, guards.guard_a_b_c_hz):
            return
        for low, high in itertools.combinations(self._all, 2):
            first = bisect.bisect_left(self._all, (low + high - guard_hz) // 2 + 1)
            last = bisect.bisect_left(self._all, -(-(low + high + guard_hz) // 2))
            self._not_with(low, high, self._all[first:last])

    def add_fifths(self) -> None:
        """Keep every carrier from 3 A - 2 B of two others by the guard 3A-2B."""
        guard_hz = self._guards.guard_3a_2b_hz
        if not guard_hz:
            return
        for one, two in itertools.permutations(self._all, 2):
            place = 3 * one - 2 * two
            first = bisect.bisect_left(self._all, place - guard_hz + 1)
            last = bisect.bisect_left(self._all, place + guard_hz)
            self._not_with(one, two, self._all[first:last])

    def _not_with(self, one: int, two: int, victims: Sequence[int]) -> None:
        """Say that two carriers do not stand with any of the victims."""
        others = [hz for hz in victims if hz not in {one, two}]
        if not others or self._members.issuperset((one, two, *others)):
            return
        if others[-1] - others[0] < self._guards.spacing_hz:
            total = sum(self._on[hz] for hz in others)
            self.model.Add(self._on[one] + self._on[two] + total <= 2)
        else:
            for hz in others:
                self.forbid((one, two, hz))

    def forbid(self, together_hz: Iterable[int]) -> None:
        """Say that these do not all stand together; members always do [Hz]."""
        self.model.AddBoolOr([self._on[hz].Not() for hz in together_hz if hz not in self._members])

    def add_differences(self) -> None:
        """Keep the differences of all pairs apart, as far as both guards or one of them say.

        See :meth:`planner.coordination.bounds_spans.Distances.apart`: of all pairs whose
        differences lie within less than h of each other at most one stands, or two.
        """
        guards = self._guards
        both_hz = min(guards.spacing_hz, guards.guard_a_b_c_hz)
        ways = []
        if guards.guard_2a_b_hz:
            ways.append((min(both_hz, guards.guard_2a_b_hz), 1))
        if guards.guard_2a_b_hz < both_hz:
            ways.append((both_hz, 2))
        if not both_hz:
            return
        pairs = self._pairs(guards.spacing_hz)
        for apart_hz, most in ways:
            for group in _groups(sorted(pairs), apart_hz - 1):
                near = [pair for difference in group for pair in pairs[difference]]
                if len(near) > most:
                    self.model.Add(sum(near) <= most)

    def _pairs(self, spacing_hz: int) -> dict[int, list[Any]]:
        """Return a boolean for each pair that can stand, by difference [Hz]."""
        pairs: dict[int, list[Any]] = {}
        for low, high in itertools.combinations(self._all, 2):
            if high - low < spacing_hz:
                continue
            if self._members.issuperset((low, high)):
                pair = self.model.NewConstant(1)
            else:
                pair = self.model.NewBoolVar("")
                self.model.AddBoolOr([self._on[low].Not(), self._on[high].Not(), pair])
            pairs.setdefault(high - low, []).append(pair)
        return pairs

    def hint(self, carriers_hz: Iterable[int]) -> None:
        """Offer a set to begin with [Hz]."""
        self.model.ClearHints()
        standing = set(carriers_hz)
        for hz in self._new:
            self.model.AddHint(self._on[hz], hz in standing)

    def chosen(self, solver: Any) -> list[int]:  # noqa: ANN401 - an optional library without types
        """Return the new carriers of a solution, ascending [Hz]."""
        return [hz for hz in self._new if solver.BooleanValue(self._on[hz])]


def _groups(ordered: Sequence[int], width: int) -> Iterable[Sequence[int]]:
    """Give every largest run of numbers that lie within a width."""
    end = 0
    for start, first in enumerate(ordered):
        following = bisect.bisect_right(ordered, first + width)
        if following > end:
            yield ordered[start:following]
        end = max(end, following)
