"""What the designer finds: an arrangement at a stop, over a tour, with its changes."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from planner.hookup.findings import excess

if TYPE_CHECKING:
    from planner.hookup.budget import Budget
    from planner.hookup.records import Arrangement, Finding, ReceiverGroup
    from planner.records.hookup import HookupLimits, RackSpec

NOISE_WEIGHT = 10.0
"""A decibel of raised noise weighs as much as this many of room; our own choice."""


def keep_worst(found: dict[tuple[str, str], Finding], finding: Finding) -> None:
    """Keep one finding a code and branch: the worst over the stops."""
    branch = finding.where.split(",", maxsplit=1)[0]
    key = (finding.code, branch)
    if key not in found or finding.excess > found[key].excess:
        found[key] = finding


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class BranchBudget:
    """The level budget of one path of one branch from one zone.

    Attributes
    ----------
    branch, zone : int
        0 for A, 1 for B; place in the rack's zones.
    receiver : int
        A receiver at the end of the path.
    """

    branch: int
    zone: int
    receiver: int
    budget: Budget


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopVerdict:
    """An arrangement at one stop.

    Attributes
    ----------
    arrangement : Arrangement
        The parts.
    scene : int
        Place of the stop among the scenes.
    budgets : tuple of BranchBudget
        Every zone and branch, along the paths with the least and the greatest gain.
    findings : tuple of Finding
        Each once, the worst of the branches.
    margin_db, compression_margin_db, product_rise_db : float
        Least margin, least distance to compression, greatest rise of the noise by products [dB].
    """

    arrangement: Arrangement
    scene: int
    budgets: tuple[BranchBudget, ...]
    findings: tuple[Finding, ...]
    margin_db: float
    compression_margin_db: float
    product_rise_db: float

    @property
    def excess_db(self) -> float:
        """By how much limits are passed in all [dB]."""
        return excess(self.findings)

    def slack_db(self, limits: HookupLimits) -> float:
        """Return what is left to the nearest of the limits that a stop decides [dB]."""
        return min(
            self.margin_db - limits.margin_least_db,
            self.compression_margin_db - limits.compression_margin_db,
            NOISE_WEIGHT * (limits.product_rise_most_db - self.product_rise_db),
        )


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Way:
    """An arrangement at every stop of the tour.

    Attributes
    ----------
    stops : tuple of StopVerdict
        One a scene, in order.
    """

    arrangement: Arrangement
    stops: tuple[StopVerdict, ...]

    @property
    def excess_db(self) -> float:
        """By how much limits are passed, at all stops together [dB]."""
        return math.fsum(row.excess_db for row in self.stops)

    @property
    def met(self) -> int:
        """Stops at which every limit is kept."""
        return sum(row.excess_db <= 0 for row in self.stops)

    def least(self, name: str) -> float:
        """Return the least of a figure over the stops."""
        return min(float(getattr(row, name)) for row in self.stops)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class GroupDesign:
    """The design of one group of a rack.

    Attributes
    ----------
    usual : Way
        The smallest arrangement that keeps every limit at every stop; where none does, the one
        that keeps them at the most stops.
    changes : tuple of StopVerdict
        Stops at which another arrangement fares better than the usual one.
    alternatives : tuple of Way
        Others that keep every limit everywhere and are about as small.
    tried : int
        Arrangements looked at.
    """

    rack: RackSpec
    group: ReceiverGroup
    usual: Way
    changes: tuple[StopVerdict, ...]
    alternatives: tuple[Way, ...]
    tried: int
    limits: HookupLimits

    @property
    def by_stop(self) -> tuple[StopVerdict, ...]:
        """What is used at each stop: the usual arrangement, or its change."""
        changed = {row.scene: row for row in self.changes}
        return tuple(changed.get(row.scene, row) for row in self.usual.stops)

    @property
    def worst(self) -> StopVerdict:
        """The stop with the most excess, else with the least slack."""
        return max(self.by_stop, key=lambda row: (row.excess_db, -row.slack_db(self.limits)))

    @property
    def shown(self) -> StopVerdict:
        """The worst stop among those of the usual arrangement: its budgets are printed."""
        changed = {row.scene for row in self.changes}
        own = [row for row in self.usual.stops if row.scene not in changed]
        rows = own or list(self.usual.stops)
        return max(rows, key=lambda row: (row.excess_db, -row.slack_db(self.limits)))

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Of all stops, each once, the worst."""
        found: dict[tuple[str, str], Finding] = {}
        for row in self.by_stop:
            for finding in row.findings:
                keep_worst(found, finding)
        return tuple(found.values())

    @property
    def meets(self) -> bool:
        """Whether every limit is kept at every stop."""
        return excess(self.findings) <= 0
