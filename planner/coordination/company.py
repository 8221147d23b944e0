"""Which carriers meet: at the same time, near enough for a product to be heard, how far apart."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

ALWAYS = 1
"""Hours of a stop where nobody's times are told: one slot, in which everybody is on."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """Carriers that are on at the same times in the same zone, in the same direction.

    Attributes
    ----------
    hours : int
        Bit mask of the slots of the day in which they may be on; slots are cut wherever anybody
        begins or ends.
    zone : str
        Where they are used.
    """

    hours: int = ALWAYS
    zone: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Company:
    """The groups of carriers at a stop, and what they are to each other.

    Attributes
    ----------
    groups : tuple of Group
        Carriers name theirs by its place here; group 0 is there always.
    unheard : frozenset of (str, (str, ...))
        Zone of a victim, and the zones of the sources in order: products of such sources were
        computed to be too weak to be heard by such a victim. Spacing holds all the same.
    separations_hz : tuple of (int, int, int)
        Two groups, and the least distance of their carriers [Hz], beside spacing.
    silent : frozenset of int
        Groups whose carriers are no sources of products: wideband blocks, see
        :mod:`planner.coordination.blocks`.
    """

    groups: tuple[Group, ...] = (Group(),)
    unheard: frozenset[tuple[str, tuple[str, ...]]] = frozenset()
    separations_hz: tuple[tuple[int, int, int], ...] = ()
    silent: frozenset[int] = frozenset()

    def together(self, groups: Iterable[int]) -> bool:
        """Say whether carriers of all these groups can be on at one time."""
        hours = ~0
        for group in groups:
            hours &= self.groups[group].hours
        return hours != 0

    def counts(self, victim: int, sources: tuple[int, ...]) -> bool:
        """Say whether a product of carriers of some groups can disturb one of another.

        Parameters
        ----------
        victim : int
            Group of the victim.
        sources : tuple of int
            Groups of the sources, one a carrier that takes part.
        """
        if not self.together((victim, *sources)) or not self.silent.isdisjoint(sources):
            return False
        if not self.unheard:
            return True
        zones = tuple(sorted(self.groups[source].zone for source in sources))
        return (self.groups[victim].zone, zones) not in self.unheard

    def require(self, groups: Iterable[int]) -> None:
        """Refuse groups that are not there: compiled code would read past its tables.

        Raises
        ------
        ValueError
            When a group is none of the company's.
        """
        wrong = sorted({group for group in groups if not 0 <= group < len(self.groups)})
        if wrong:
            raise ValueError(f"groups {wrong} in a company of {len(self.groups)}")

    def separation_hz(self, one: int, two: int) -> int:
        """Return the least distance of carriers of two groups beside spacing [Hz]."""
        return max(
            (
                least_hz
                for first, second, least_hz in self.separations_hz
                if {first, second} == {one, two}
            ),
            default=0,
        )


TOGETHER = Company()
"""One group: everybody is on at the same time in one place."""
