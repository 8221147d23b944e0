"""Whose each frequency of an answer is: lines and needs of a stop found by what the rows say."""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from typing import TYPE_CHECKING, Any

from planner.errors import Fault, InputFaults
from planner.intake.faults import nearest_word
from planner.plan.previous import matched_rows
from planner.plan.scope import fixed_at, serves, spare_names
from planner.ranking import considered
from planner.records import Assigned
from planner.units import format_mhz, hz_to_mhz

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from planner.intake.reply import ReplyRow
    from planner.records import FixedCarrier, GearRange, Need, Stop, Tour


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class MatchedRow:
    """One row of an answer and whose it is.

    Attributes
    ----------
    need, name : str
        Name of the need, and of the line or spare; empty where the row does not say which line.
    fixed : FixedCarrier or None
        The carrier that cannot be retuned, where the row is for one.
    """

    row: ReplyRow
    need: str = ""
    name: str = ""
    fixed: FixedCarrier | None = None


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ReplyQuestion:
    """Where an answer belongs, and how its words are compared.

    Attributes
    ----------
    need : str
        The need of rows that do not say it, empty where the user does not say it either.
    file : str
        Name of the answer in messages.
    tidy : callable
        How names were written in the request.
    """

    tour: Tour
    stop: Stop
    gear: Sequence[GearRange]
    need: str = ""
    file: str = "answer"
    tidy: Callable[[str], str] = str


def tunable(frequency_hz: int, gear: GearRange) -> bool:
    """Say whether a range can be set to a frequency [Hz]: within its limits and on its step."""
    inside = any(low <= frequency_hz <= high for low, high in gear.centre_spans_hz)
    return inside and (frequency_hz - gear.tuning_origin_hz) % gear.step_hz == 0


def needs_served(tour: Tour, stop: Stop) -> tuple[Need, ...]:
    """Return the needs of a stop."""
    return tuple(need for need in tour.needs if serves(need.stops, stop))


class _Names:
    """What may be written in a row, and what it means."""

    def __init__(self, question: ReplyQuestion) -> None:
        self._question = question
        self.needs = needs_served(question.tour, question.stop)
        self.fixed = {self.word(row.name): row for row in fixed_at(question.tour, question.stop)}
        self.lines: dict[str, tuple[str, str]] = {}
        self.names: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
        for need in self.needs:
            spares = spare_names(need)
            numbers = [f"{need.name} {number}" for number in range(1, need.count + 1)]
            for line, name in zip((*numbers, *spares), (*need.lines, *spares), strict=True):
                self.lines.setdefault(self.word(line), (need.name, name))
                self.names[self.word(name)].append((need.name, name))

    def word(self, text: str) -> str:
        """Return a name as it is compared: as the request wrote it, in any case."""
        return " ".join(self._question.tidy(text).split()).lstrip("'").casefold()

    def able(self, names: Sequence[str], frequency_hz: int | None) -> list[str]:
        """Return those of some needs that could be set to a frequency; all where that is none."""
        by_name = {need.name: need for need in self.needs}
        found = [
            name
            for name in names
            if frequency_hz is not None
            and any(
                tunable(frequency_hz, row) for row in considered(by_name[name], self._question.gear)
            )
        ]
        return found or list(names)


def match_rows(rows: Sequence[ReplyRow], question: ReplyQuestion) -> tuple[MatchedRow, ...]:
    """Find out whose each row is; rows that say nothing at all are left out.

    Parameters
    ----------
    rows, question : sequence of ReplyRow, ReplyQuestion
        The answer, and where it belongs.

    Notes
    -----
    What says it is asked in this order: the line's number as the request gave it, the name, the
    need, the role, ``question.need``, the only need of the stop, the only need that could be set
    to the frequency.

    Raises
    ------
    InputFaults
        With every frequency of which nobody can tell for which need it is, and every need that
        the stop does not have.
    """
    names = _Names(question)
    faults: list[Fault] = []
    known = [need.name for need in names.needs]
    if question.need and question.need not in known:
        raise InputFaults([_unknown("command line", "--need", question.need, known)])
    found = [_match(row, names, question, faults) for row in rows if _says_something(row)]
    if faults:
        raise InputFaults(faults)
    return tuple(row for row in found if row is not None)


def _says_something(row: ReplyRow) -> bool:
    return row.frequency_hz is not None or bool(row.fault)


def _match(
    row: ReplyRow, names: _Names, question: ReplyQuestion, faults: list[Fault]
) -> MatchedRow | None:
    line = names.lines.get(names.word(row.line)) if row.line else None
    if line is not None:
        return MatchedRow(row=row, need=line[0], name=line[1])
    needs = _needs(row, names, question, faults)
    if needs is None:
        return None
    written = names.word(row.name or row.line)
    owners = [pair for pair in names.names.get(written, ()) if pair[0] in needs]
    if not owners and written in names.fixed:
        return MatchedRow(row=row, fixed=names.fixed[written])
    pairs = owners or [(need, "") for need in needs]
    if len(pairs) > 1:
        able = names.able([need for need, _ in pairs], row.frequency_hz)
        pairs = [pair for pair in pairs if pair[0] in able]
    if len(pairs) == 1:
        return MatchedRow(row=row, need=pairs[0][0], name=pairs[0][1])
    if row.frequency_hz is None:
        return MatchedRow(row=row)
    faults.append(_unclear(row, [need for need, _ in pairs], question))
    return None


def _needs(
    row: ReplyRow, names: _Names, question: ReplyQuestion, faults: list[Fault]
) -> list[str] | None:
    """Return the needs a row may be for; None where it names one that is not there."""
    known = [need.name for need in names.needs]
    if row.need:
        found = [name for name in known if names.word(name) == names.word(row.need)]
        if not found:
            faults.append(_unknown(question.file, f"{row.where}, need", row.need, known))
            return None
        return found
    if row.role:
        found = [need.name for need in names.needs if names.word(need.role) == names.word(row.role)]
        if found:
            return found
    return [question.need] if question.need else known


def _unknown(file: str, where: str, came: str, known: Sequence[str]) -> Fault:
    near = nearest_word(came, known)
    return Fault(
        file=file,
        where=where,
        value=f'"{came}"',
        allowed=f"a need of the stop: {', '.join(known)}",
        advice=f'did you mean "{near}"?' if near else "correct it",
    )


def _unclear(row: ReplyRow, needs: Sequence[str], question: ReplyQuestion) -> Fault:
    mhz = format_mhz(row.frequency_hz) if row.frequency_hz else row.came
    return Fault(
        file=question.file,
        where=row.where,
        value=f"{mhz} MHz for {' or '.join(needs)}",
        allowed="one need a frequency",
        advice="add a column need, or name it with --need and read one need after the other",
    )


def assigned_of(
    matched: Sequence[MatchedRow], question: ReplyQuestion, *, reference: str = ""
) -> tuple[Assigned, ...]:
    """Return the frequencies of an answer as assignments, one a need, power and reference.

    Parameters
    ----------
    matched, question : sequence of MatchedRow, ReplyQuestion
        The rows, and where they belong. What the tour file assigns already is left out, and a
        frequency that is given to a need twice stands once.
    reference : str
        Reference of rows that have none of their own.
    """
    stop = question.stop.id
    taken = {
        (row.need, hz)
        for row in question.tour.assigned
        if row.stop == stop
        for hz in row.frequencies_hz
    }
    groups: dict[tuple[str, float | None, str], list[int]] = {}
    for row in matched:
        hz = row.row.frequency_hz
        if hz is None or not row.need or (row.need, hz) in taken:
            continue
        taken.add((row.need, hz))
        key = row.need, row.row.power_mw, row.row.reference or reference
        groups.setdefault(key, []).append(hz)
    return tuple(
        Assigned(
            stop=stop,
            need=need,
            frequencies_hz=tuple(sorted(found)),
            power_mw=power_mw,
            reference=said,
        )
        for (need, power_mw, said), found in groups.items()
    )


def with_names_kept(
    document: Mapping[str, Any] | None,
    matched: Sequence[MatchedRow],
    question: ReplyQuestion,
    *,
    choice: Mapping[str, Sequence[str]],
) -> dict[str, Any]:
    """Return a plan to keep in which the lines of an answer stand where it puts them.

    Parameters
    ----------
    document : mapping or None
        The earlier plan; None where there is none.
    matched, question : sequence of MatchedRow, ReplyQuestion
        The answer. Of needs that it names, only its own lines are kept at this stop.
    choice : mapping of str to sequence of str
        Keys of the ranges that serve each need, as far as they are known: a frequency is taken to
        be for the first of them that can be set to it.
    """
    tour = question.tour
    stops = [stop for stop in tour.stops if stop.status != "cancelled"]
    facts = [
        {"country": stop.country, "lat_deg": stop.lat_deg, "lon_deg": stop.lon_deg}
        for stop in stops
    ]
    before: Mapping[str, Any] = document or {
        "stops": [{**row, "carriers": [], "short": []} for row in facts]
    }
    rows = list(before["stops"])
    index = [stop.id for stop in stops].index(question.stop.id)
    place = matched_rows(rows, facts)[index]
    if place >= 0:
        answered = {row.need for row in matched if row.need}
        ours = [row for row in rows[place]["carriers"] if row["need"] not in answered]
        ours += [row for one in matched if (row := _kept(one, question, choice)) is not None]
        rows[place] = {**rows[place], "carriers": ours}
    return {**before, "stops": rows}


def _kept(
    one: MatchedRow, question: ReplyQuestion, choice: Mapping[str, Sequence[str]]
) -> dict[str, Any] | None:
    hz = one.row.frequency_hz
    need = next((row for row in question.tour.needs if row.name == one.need), None)
    if hz is None or need is None or not one.name:
        return None
    chosen = choice.get(need.name, ())
    ranges = [row for row in considered(need, question.gear) if tunable(hz, row)]
    ranges.sort(key=lambda row: row.key not in chosen)
    if not ranges or ranges[0].links_per_block:
        return None
    return {
        "name": one.name,
        "need": need.name,
        "range": ranges[0].key,
        "frequency_mhz": hz_to_mhz(hz),
        "power_mw": one.row.power_mw,
        "fixed": False,
        "other": False,
        "spare": one.name not in need.lines,
        "spare_grade": None,
    }
