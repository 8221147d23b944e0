"""Design of the receive side: the smallest arrangement that keeps its limits at every stop."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

import numpy as np

from planner.hookup.budget import at_antenna, examine
from planner.hookup.chains import Element, branch_elements, noise_factor, total_gain_db
from planner.hookup.choosing import arrangements, shelf
from planner.hookup.findings import AMPLIFIER_HINT, budget_findings, no_amplifier
from planner.hookup.products import near_findings
from planner.hookup.verdicts import BranchBudget, GroupDesign, StopVerdict, Way, keep_worst

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.hookup.budget import AtAntenna, Budget
    from planner.hookup.records import Arrangement, Finding, ReceiverGroup, StopScene
    from planner.records.hookup import HookupSpec, Part, RackSpec

    _Paths = dict[tuple[int, int, int], list[Element]]

CANDIDATES = 4000
"""Arrangements looked at before the least bad is taken."""
FALLBACKS = 24
"""Arrangements compared stop by stop where none keeps every limit everywhere."""
WORTH_DB = 0.5
"""A change at a stop is worth its work when it takes off more than this [dB]."""
ALTERNATIVES = 2
CLOSE_BOXES = 2
"""An alternative with at most that many boxes more is shown."""
BETTER_DB = 1.0
"""A larger alternative is shown where its margin is better by more than this."""
BRANCHES = ("A", "B")


class Examiner:
    """Looks at arrangements of one group; what stands at an antenna is computed once a stop."""

    def __init__(
        self,
        group: ReceiverGroup,
        rack: RackSpec,
        spec: HookupSpec,
        *,
        scenes: Sequence[StopScene],
        local_eirp_dbm: Mapping[str, Sequence[float]],
        amplifiers: Sequence[Part] = (),
    ) -> None:
        self.amplifiers = amplifiers
        self.group, self.rack, self.spec, self.scenes = group, rack, spec, scenes
        self._local = local_eirp_dbm
        self._at: dict[tuple[str, int], AtAntenna] = {}
        self._kept_paths: tuple[Arrangement | None, _Paths] = (None, {})
        loudest = [max(scene.air.power_dbm, default=-math.inf) for scene in scenes]
        self._hardest = sorted(range(len(scenes)), key=lambda k: -loudest[k])

    def at(self, antenna: Part, index: int) -> AtAntenna:
        """Return what stands at an antenna at one stop."""
        key = (antenna.name, index)
        if key not in self._at:
            scene = self.scenes[index]
            self._at[key] = at_antenna(
                antenna,
                self.group,
                scene,
                self.spec,
                local_eirp_dbm=self._local.get(scene.stop, ()),
            )
        return self._at[key]

    def look(self, arrangement: Arrangement, index: int) -> StopVerdict:
        """Return how an arrangement fares at one stop."""
        at = self.at(arrangement.antenna, index)
        budgets = [
            BranchBudget(
                branch=branch,
                zone=zone,
                receiver=receiver,
                budget=examine(elements, self.group, at),
            )
            for (branch, zone, receiver), elements in self._paths(arrangement).items()
        ]
        found: dict[tuple[str, str], Finding] = {}
        for row in budgets:
            where = self.where(row.branch, row.zone)
            for finding in budget_findings(row.budget, arrangement, self.spec, where=where):
                keep_worst(found, finding)
            for finding in near_findings(row.budget, self.group, where=where):
                keep_worst(found, finding)
        each = [row.budget for row in budgets]
        return StopVerdict(
            arrangement=arrangement,
            scene=index,
            budgets=tuple(budgets),
            findings=tuple(self._advised(row, arrangement, each) for row in found.values()),
            margin_db=min(float(row.margin_db.min()) for row in each),
            compression_margin_db=min(row.compression_margin_db for row in each),
            product_rise_db=max(float(row.product_rise_db.max(initial=0.0)) for row in each),
        )

    def _advised(
        self, finding: Finding, arrangement: Arrangement, budgets: Sequence[Budget]
    ) -> Finding:
        """Return a finding that advises no amplifier where there is one, or no room for one."""
        if AMPLIFIER_HINT not in finding.advice:
            return finding
        said = AMPLIFIER_HINT
        if arrangement.amplifier is not None:
            said = ""
        elif self.amplifiers:
            said = self._why_no_amplifier(arrangement, budgets) or said
        return dataclasses.replace(finding, advice=finding.advice.replace(AMPLIFIER_HINT, said))

    def _why_no_amplifier(self, arrangement: Arrangement, budgets: Sequence[Budget]) -> str:
        """Return why each amplifier is too much for the television here; empty where one is not."""
        words = ""
        place = 0 if arrangement.filter is None else 1
        for part in self.amplifiers:
            step = Element(label=part.name, part=part, flat_db=part.gain_db, place="antenna")
            reasons = []
            for row in budgets:
                elements = [*row.elements[:place], step, *row.elements[place:]]
                with_it = examine(elements, self.group, row.antenna)
                reasons.append(no_amplifier(with_it, part.name, self.spec))
            if not any(reasons):
                return ""
            words = words or next(filter(None, reasons))
        return words

    def everywhere(self, arrangement: Arrangement) -> Way:
        """Return how an arrangement fares at every stop."""
        stops = tuple(self.look(arrangement, index) for index in range(len(self.scenes)))
        return Way(arrangement=arrangement, stops=stops)

    def keeps_everywhere(self, arrangement: Arrangement) -> bool:
        """Say whether every limit is kept at every stop; the hardest are looked at first."""
        return all(self.look(arrangement, k).excess_db <= 0 for k in self._hardest)

    def least_excess_db(self, arrangement: Arrangement) -> float:
        """Return by how much gain and sensitivity alone pass their limits [dB], at least.

        No stop is looked at: both depend on the parts alone. The runs are counted apart, as
        :meth:`look` does, each with the worst of its paths.
        """
        limits, group = self.spec.limits, self.group
        at_hz = np.array([group.low_hz, group.high_hz], dtype=np.float64)
        worst = 0.0
        for elements in self._paths(arrangement).values():
            gain = total_gain_db(elements, at_hz)
            factor = noise_factor(elements, at_hz)
            factor = factor + (10 ** (group.noise_figure_db / 10) - 1) / 10 ** (gain / 10)
            loss = float((10 * np.log10(factor)).min()) - group.noise_figure_db
            over = max(0.0, float(gain.min()) - max(limits.gain_high_db, limits.gain_low_db))
            over += max(0.0, loss - limits.sensitivity_loss_most_db)
            if limits.gain_low_binds and arrangement.powered:
                over += max(0.0, limits.gain_low_db - float(gain.max()))
            worst = max(worst, over)
        return worst

    def where(self, branch: int, zone: int) -> str:
        """Return the name of a branch, with its zone where there are several."""
        name = f"{self.rack.name} {BRANCHES[branch]}"
        return f"{name}, {self.rack.zones[zone]}" if len(self.rack.zones) > 1 else name

    def _paths(self, arrangement: Arrangement) -> _Paths:
        """Return the steps of the paths that decide: least and greatest gain of each run."""
        if self._kept_paths[0] is arrangement:
            return self._kept_paths[1]
        ends = extreme_receivers(arrangement)
        found: _Paths = {}
        seen: set[tuple[float, int]] = set()
        for branch in range(2):
            for zone in range(len(self.rack.zones)):
                length = self.rack.length_m(branch, zone)
                for receiver in ends:
                    if (length, receiver) in seen:
                        continue
                    seen.add((length, receiver))
                    found[branch, zone, receiver] = branch_elements(
                        arrangement,
                        self.spec,
                        length_m=length,
                        zones=len(self.rack.zones),
                        path=arrangement.tree.path(receiver),
                    )
        self._kept_paths = (arrangement, found)
        return found


def extreme_receivers(arrangement: Arrangement) -> tuple[int, ...]:
    """Return the receivers whose paths decide: fewest and most parts, least and most gain."""
    tree = arrangement.tree
    scored: dict[tuple[float, int], int] = {}
    for receiver in range(len(tree.receivers)):
        path = tree.path(receiver)
        gain = sum(
            tree.nodes[node].part.cascade_gain_db
            if port == "cascade"
            else tree.nodes[node].part.gain_db
            for node, port in path
        )
        scored.setdefault((round(gain, 6), len(path)), receiver)
    keys = list(scored)
    picked = {
        min(keys, key=lambda key: (key[0], -key[1])),
        max(keys, key=lambda key: (key[0], -key[1])),
        max(keys, key=lambda key: (key[1], -key[0])),
    }
    return tuple(sorted(scored[key] for key in picked))


def design_group(
    parts: Sequence[Part],
    group: ReceiverGroup,
    rack: RackSpec,
    spec: HookupSpec,
    *,
    scenes: Sequence[StopScene],
    local_eirp_dbm: Mapping[str, Sequence[float]],
) -> GroupDesign:
    """Return the smallest arrangement that keeps the limits at all stops, or the least bad.

    Parameters
    ----------
    parts : sequence of Part
        The catalogue.
    group, rack, spec : ReceiverGroup, RackSpec, HookupSpec
        What is to be connected, and how.
    scenes : sequence of StopScene
        At least one.
    local_eirp_dbm : mapping of str to sequence of float
        By stop id, the radiated power of each in-ear transmitter of its scene [dBm].

    Raises
    ------
    InputFaults
        When parts are missing or do not cover the range.
    """
    on_shelf = shelf(parts, group, rack, spec)
    examiner = Examiner(
        group,
        rack,
        spec,
        scenes=scenes,
        local_eirp_dbm=local_eirp_dbm,
        amplifiers=on_shelf.amplifiers,
    )
    chosen: Way | None = None
    close: list[Way] = []
    sound: list[Arrangement] = []
    unsound: list[tuple[float, Arrangement]] = []
    zones, looked = len(rack.zones), 0
    for arrangement in arrangements(on_shelf, group, rack, spec):
        if chosen is not None and (
            len(close) == ALTERNATIVES
            or arrangement.boxes(zones) > chosen.arrangement.boxes(zones) + CLOSE_BOXES
        ):
            break
        looked += 1
        if looked > CANDIDATES:
            break
        least = examiner.least_excess_db(arrangement)
        if least > 0:
            unsound.append((least, arrangement))
            continue
        if not examiner.keeps_everywhere(arrangement):
            sound.append(arrangement)
            continue
        way = examiner.everywhere(arrangement)
        if chosen is None:
            chosen = way
        elif _worth_showing(way, chosen, close):
            close.append(way)
    usual, changes = (chosen, ()) if chosen else _by_stop(examiner, sound, unsound)
    return GroupDesign(
        rack=rack,
        group=group,
        usual=usual,
        changes=changes,
        alternatives=tuple(close),
        tried=looked,
        limits=spec.limits,
    )


def _by_stop(
    examiner: Examiner,
    sound: Sequence[Arrangement],
    unsound: Sequence[tuple[float, Arrangement]],
) -> tuple[Way, tuple[StopVerdict, ...]]:
    """Return the arrangement that serves the most stops, and what to change at the others.

    Looked at are, of those whose gain and noise are sound, the smallest; and of the rest the
    soundest with each antenna, filter and amplifier.
    """
    rest: dict[tuple[object, ...], Arrangement] = {}
    for _, row in sorted(unsound, key=lambda item: item[0]):
        rest.setdefault((row.antenna, row.filter, row.amplifier), row)
    ways = [examiner.everywhere(row) for row in [*sound[:FALLBACKS], *rest.values()]]
    usual = max(ways, key=lambda way: (way.met, -round(way.excess_db, 6)))
    changes = []
    for index, here in enumerate(usual.stops):
        if here.excess_db <= 0:
            continue
        better = min(
            (way.stops[index] for way in ways),
            key=lambda row: (
                round(row.excess_db, 1),
                _moves(usual.arrangement, row.arrangement),
            ),
        )
        if better.excess_db < here.excess_db - WORTH_DB and len(usual.stops) > 1:
            changes.append(better)
    return usual, tuple(changes)


def _moves(usual: Arrangement, other: Arrangement) -> int:
    """Return how many things differ between two arrangements."""
    names = ("antenna", "filter", "amplifier", "attenuator", "tree")
    return sum(getattr(usual, name) != getattr(other, name) for name in names)


def _worth_showing(way: Way, chosen: Way, close: Sequence[Way]) -> bool:
    """Say whether an alternative is another way, and as small or better at something."""
    mine = _shape(way.arrangement)
    if any(mine == _shape(other.arrangement) for other in (chosen, *close)):
        return False
    if way.arrangement.boxes() <= chosen.arrangement.boxes():
        return True
    if way.arrangement.antenna != chosen.arrangement.antenna:
        return False
    return any(
        way.least(name) > chosen.least(name) + BETTER_DB
        for name in ("margin_db", "compression_margin_db")
    )


def _shape(arrangement: Arrangement) -> tuple[object, ...]:
    return (
        arrangement.amplifier and arrangement.amplifier.name,
        tuple((node.part.name, node.port, node.fed_by) for node in arrangement.tree.nodes),
    )
