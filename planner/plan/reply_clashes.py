"""What of an answer must go back: each frequency that cannot be used, why, and what would do."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.coordination import PlacedCarrier
from planner.coordination.verify import violations
from planner.plan.blocks import lines_of, names_at
from planner.plan.placed import placed_at
from planner.plan.reply_match import needs_served, tunable
from planner.plan.reply_tries import find_tries, standing_at
from planner.plan.scope import spare_names
from planner.ranking import considered, guards_of
from planner.units import format_mhz, shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.plan.pipeline import PlanResult
    from planner.plan.placed import Placed
    from planner.plan.reply_match import MatchedRow
    from planner.plan.reply_tries import Try
    from planner.records import Need

UNREADABLE = "not readable"
UNUSABLE = "cannot be used"
CLASHES = "clashes"
TWICE = "given twice"
MISSING = "missing"
FIXED = "cannot be retuned"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Clash:
    """One thing to send back.

    Attributes
    ----------
    need, name : str
        Whose it is, as far as the answer says.
    where : str
        Where in the answer; empty for what is missing.
    frequency_hz : int or None
        What was given [Hz].
    kind, reason, remedy : str
        What is wrong, why, and what would do.
    try_hz : int or None
        A frequency that would do [Hz], free of products beside all others and all other tries.
    """

    need: str
    name: str
    where: str = ""
    frequency_hz: int | None = None
    kind: str
    reason: str
    remedy: str = ""
    try_hz: int | None = None
    reference: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NeedAnswer:
    """How far an answer serves one need.

    Attributes
    ----------
    wanted, given, used : int
        Lines and spares asked for, frequencies given, and carriers of them in use.
    empty : tuple of str
        Lines and spares that have no carrier now.
    assigned : bool
        Whether only assigned frequencies are used for it.
    """

    need: str
    wanted: int
    given: int
    used: int
    empty: tuple[str, ...]
    assigned: bool


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Judged:
    """An answer, judged: what goes back, how each need is served, what is left over [Hz]."""

    clashes: tuple[Clash, ...]
    needs: tuple[NeedAnswer, ...]
    left_over: tuple[tuple[str, int], ...]


def judge_reply(
    result: PlanResult, index: int, matched: Sequence[MatchedRow], *, only: str = ""
) -> Judged:
    """Judge an answer by the plan that was made with it.

    Parameters
    ----------
    result, index : PlanResult, int
        The plan, whose tour holds the answer's assignments, and which stop.
    matched : sequence of MatchedRow
        The answer.
    only : str
        The one need that was asked for, empty for all of the stop.

    Raises
    ------
    BrokenSet
        When the independent verifier refuses a frequency that would be proposed.
    """
    judge = _Judge(result, index, matched)
    needs = [
        need
        for need in needs_served(result.tour, result.stops[index])
        if not only or need.name == only or any(row.need == need.name for row in matched)
    ]
    clashes = [*judge.rows(), *(row for need in needs for row in judge.missing(need))]
    answers = tuple(judge.answer(need) for need in needs)
    return Judged(
        clashes=tuple(_with_tries(result, index, clashes, answers)),
        needs=answers,
        left_over=tuple(judge.left_over),
    )


class _Judge:
    """One answer beside what stands at the stop."""

    def __init__(self, result: PlanResult, index: int, matched: Sequence[MatchedRow]) -> None:
        self._result, self._index, self._matched = result, index, matched
        self._stop = result.stops[index]
        self._placed = placed_at(result, index)
        self._standing = standing_at(result, index)
        self.left_over: list[tuple[str, int]] = []

    def rows(self) -> Iterator[Clash]:
        """Yield what is wrong with what was given, in the answer's order."""
        seen: dict[tuple[str, int], str] = {}
        for one in self._matched:
            hz = one.row.frequency_hz
            if one.fixed is not None:
                yield from self._fixed(one)
            elif hz is None:
                yield _clash(one, UNREADABLE, one.row.fault)
            elif (one.need, hz) in seen and not self._blocks(one.need):
                other = seen[one.need, hz]
                also = f"given to {other} already" if other else "given already"
                yield _clash(one, TWICE, f"{format_mhz(hz)} MHz is {also}")
            else:
                seen[one.need, hz] = one.name
                yield from self._given(one, hz)

    def _fixed(self, one: MatchedRow) -> Iterator[Clash]:
        """Yield a clash where a carrier that cannot be retuned is given another frequency."""
        hz, carrier = one.row.frequency_hz, one.fixed
        if carrier is None or hz is None or hz == carrier.frequency_hz:
            return
        own = format_mhz(carrier.frequency_hz)
        reason = f"{carrier.name} cannot be retuned from {own} MHz"
        row = _clash(one, FIXED, reason)
        yield dataclasses.replace(row, name=carrier.name, remedy=f"keep {own} MHz free for it")

    def _given(self, one: MatchedRow, hz: int) -> Iterator[Clash]:
        judged = self._result.assigned.get((self._stop.id, one.need), ())
        points = [point for found in judged if (point := found.at(hz)) is not None]
        if not points:
            yield _clash(one, UNUSABLE, "no range was chosen for the need: nothing serves it here")
        elif all(point.refusal for point in points):
            reason = "; ".join(dict.fromkeys(point.refusal for point in points))
            row = _clash(one, UNUSABLE, reason)
            yield dataclasses.replace(row, remedy=self._other_range(one.need, hz))
        elif any(row.frequency_hz == hz for row in self._of(one.need)):
            return
        elif self.empty(one.need):
            yield _clash(one, CLASHES, self._beside_others(one.need, hz))
        else:
            self.left_over.append((one.need, hz))

    def _other_range(self, need_name: str, hz: int) -> str:
        """Name the ranges that could be set to a frequency that those chosen cannot."""
        need = next(row for row in self._result.tour.needs if row.name == need_name)
        chosen = {row.key for row in self._result.choice.get(need_name, ())}
        able = [
            row.key
            for row in considered(need, self._result.gear)
            if row.key not in chosen and tunable(hz, row)
        ]
        if not able or any(tunable(hz, row) for row in self._result.choice.get(need_name, ())):
            return ""
        return f"{' or '.join(able)} could be set to it"

    def _beside_others(self, need: str, hz: int) -> str:
        """Say with whom a frequency clashes that could be used alone."""
        row = self._result.choice[need][0]
        company = self._result.companies[self._index]
        mine = PlacedCarrier(frequency_hz=hz, guards=guards_of(row), group=company.group(need, row))
        found = [
            violation
            for violation in violations([*self._standing, mine], company.company)
            if hz in violation.carriers_hz
        ]
        if not found:
            return "does not fit beside the other carriers, though nothing single forbids it"
        first = found[0]
        partners = [
            f"{one.name} {format_mhz(one.frequency_hz)}"
            for partner_hz in dict.fromkeys(first.carriers_hz)
            if partner_hz != hz
            for one in self._placed
            if one.frequency_hz == partner_hz
        ]
        more = f", and {len(found) - 1} more" if len(found) > 1 else ""
        return f"{first.line()}{more}; with {', '.join(partners) or 'others'}"

    def missing(self, need: Need) -> Iterator[Clash]:
        """Yield the lines and spares of a need for which the answer has no frequency."""
        asked = [*need.lines, *spare_names(need)]
        rows = [row for row in self._matched if row.need == need.name]
        if not rows:
            reason = f"no frequency for any of {len(asked)} lines and spares"
            yield Clash(need=need.name, name="", kind=MISSING, reason=reason)
            return
        answered = {row.name for row in rows if row.name}
        if not answered:
            short = len(asked) - len(rows)
            for name in self.empty(need.name)[: max(0, short)]:
                reason = f"fewer frequencies than asked for: {name} has none"
                yield Clash(need=need.name, name=name, kind=MISSING, reason=reason)
            return
        nameless = sum(not row.name for row in rows)
        left = [name for name in asked if name not in answered]
        for name in left[: max(0, len(left) - nameless)]:
            yield Clash(need=need.name, name=name, kind=MISSING, reason="no frequency was given")

    def answer(self, need: Need) -> NeedAnswer:
        """Say how far the answer serves a need."""
        given = {
            row.row.frequency_hz
            for row in self._matched
            if row.need == need.name and row.row.frequency_hz is not None
        }
        return NeedAnswer(
            need=need.name,
            wanted=need.count + need.spares,
            given=len(given),
            used=len(self._of(need.name)),
            empty=self.empty(need.name),
            assigned=(self._stop.id, need.name) in self._result.assigned,
        )

    def empty(self, need_name: str) -> tuple[str, ...]:
        """Return the lines and spares of a need that have no carrier."""
        need = next(row for row in self._result.tour.needs if row.name == need_name)
        if need_name not in self._result.choice:
            return (*need.lines, *spare_names(need))
        placed = {row.name for row in self._of(need_name)}
        return tuple(
            line
            for name, _ in names_at(self._result, need)
            if name not in placed
            for line in lines_of(self._result, need_name, name)
        )

    def _of(self, need: str) -> list[Placed]:
        return [row for row in self._placed if row.need is not None and row.need.name == need]

    def _blocks(self, need: str) -> bool:
        return any(row.links_per_block for row in self._result.choice.get(need, ()))


def _clash(one: MatchedRow, kind: str, reason: str) -> Clash:
    return Clash(
        need=one.need,
        name=one.name or one.row.name,
        where=one.row.where,
        frequency_hz=one.row.frequency_hz,
        kind=kind,
        reason=reason,
        reference=one.row.reference,
    )


def _with_tries(
    result: PlanResult, index: int, clashes: Sequence[Clash], answers: Sequence[NeedAnswer]
) -> list[Clash]:
    """Give each thing that goes back what would do, as many as lines and spares are empty."""
    empty = {answer.need: len(answer.empty) for answer in answers if answer.assigned}
    wanted: dict[str, tuple[int, list[int]]] = {}
    for row in clashes:
        if row.kind != FIXED and empty.get(row.need):
            count, near = wanted.get(row.need, (0, []))
            if row.frequency_hz is not None:
                near.append(row.frequency_hz)
            wanted[row.need] = min(count + 1, empty[row.need]), near
    tries = find_tries(result, index, wanted)
    return [_told(row, wanted, tries) for row in clashes]


def _told(
    row: Clash, wanted: dict[str, tuple[int, list[int]]], tries: dict[str, list[Try]]
) -> Clash:
    """Give one row the nearest try that is left; tries of its need are taken one by one."""
    if row.kind == FIXED:
        return row
    left = tries.get(row.need, [])
    if not left:
        why = (
            "no frequency was found that would fit beside the others"
            if row.need in wanted
            else "nothing: every line and spare of the need has a carrier"
        )
        return dataclasses.replace(row, remedy="; ".join(t for t in (row.remedy, why) if t))
    at = row.frequency_hz
    best = left[0] if at is None else min(left, key=lambda one: abs(one.frequency_hz - at))
    left.remove(best)
    said = f"give {shortest_mhz(best.frequency_hz)} MHz ({best.range_key}) instead: "
    said += "quiet by our prediction" if best.checked else "not checked, no table covers it"
    said += ", lawful" if best.lawful else ", on request only"
    said += ", free of products with all others here"
    remedy = "; ".join(text for text in (said, row.remedy) if text)
    return dataclasses.replace(row, remedy=remedy, try_hz=best.frequency_hz)
