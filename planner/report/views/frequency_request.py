"""What a coordinator or a licensing office asks for before frequencies are given: one stop."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import (
    Plan,
    chosen_ranges,
    merged,
    needs_at,
    place_of,
    rows,
    stop_of,
    table,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Pairs = tuple[tuple[float, float], ...]

FROM_RACK = frozenset({"in-ear"})
"""Roles whose transmitters stand at the racks; those of all others are carried."""
_DAY = "all day"
_RETURN = "return"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AskedRange:
    """One tuning range that a need is asked for in.

    Attributes
    ----------
    planned : bool
        Whether the lines are asked for in this range; the others are possible instead.
    limits_mhz : tuple of (float, float)
        Lowest and highest carrier centre of each piece it can tune [MHz].
    on_request_mhz : tuple of (float, float)
        Where the rules open it only on frequencies that are named [MHz].
    powers_mw : tuple of float
        All its settings [mW], measured as ``power_kind``.
    """

    need: str
    role: str
    form: str
    zone: str
    lines: int
    spares: int
    units: int
    active: tuple[str, ...]
    range: str
    planned: bool
    limits_mhz: Pairs
    tuning_origin_mhz: float
    step_khz: float
    bandwidth_khz: float
    spacing_khz: float | None
    modulation: str
    powers_mw: tuple[float, ...]
    power_kind: str
    links_per_block: int
    on_request_mhz: Pairs


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AskedLine:
    """One carrier that is asked for, or one of ours that cannot be retuned.

    Attributes
    ----------
    line : str
        Need and number, which the answer may name instead of the name.
    planned_mhz, power_mw : float or None
        What the plan would set, as a proposal [MHz], [mW]; None where it found nothing.
    block : str
        Name of the wideband block that carries the line, empty for a carrier of its own.
    """

    line: str
    name: str
    asked: AskedRange
    spare: bool
    fixed: bool
    planned_mhz: float | None
    power_mw: float | None
    block: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class FrequencyRequest:
    """Everything that is asked for at one stop.

    Attributes
    ----------
    facts : tuple of (str, str)
        What and answer, as they print.
    ranges, lines : tuple of AskedRange, tuple of AskedLine
        What is asked for, planned ranges first; in the order of the needs.
    notes : tuple of str
        What the reader must know.
    stop : mapping
        The stop's record in the plan.
    """

    title: str
    issue: str
    facts: tuple[tuple[str, str], ...]
    ranges: tuple[AskedRange, ...]
    lines: tuple[AskedLine, ...]
    notes: tuple[str, ...]
    paper: str
    stop: Plan


class UnknownRangeError(KeyError):
    """A range that no need of the stop considers."""


def frequency_request(
    plan: Plan, stop_id: str, *, ranges: Sequence[str] = (), numbers: bool = False
) -> FrequencyRequest:
    """Make the view of a request for frequencies at a stop.

    Parameters
    ----------
    plan, stop_id : mapping, str
        A plan that holds its catalogue's ranges (``gear``), and the stop.
    ranges : sequence of str
        Ranges to ask in, instead of those that the plan chose, for every need that considers them.
    numbers : bool
        Leave names out: line numbers only, for third parties.

    Raises
    ------
    KeyError
        When the plan has no such stop; :class:`UnknownRangeError` when no need of the stop
        considers a range.
    """
    stop = stop_of(plan, stop_id)
    asked: list[AskedRange] = []
    lines: list[AskedLine] = []
    for need in needs_at(plan, stop_id):
        mine = list(_ranges(plan, stop, need, ranges))
        asked += mine
        lines += _lines(stop, need, [row for row in mine if row.planned])
    unknown = [key for key in ranges if key not in {row.range for row in asked}]
    if unknown:
        raise UnknownRangeError(unknown[0])
    lines += _fixed(plan, stop)
    if numbers:
        lines = [
            row if row.fixed else dataclasses.replace(row, name="" if not row.spare else row.name)
            for row in lines
        ]
    return FrequencyRequest(
        title=f"Request for frequencies: {words.town(stop['place'])}",
        issue=_issue(plan),
        facts=tuple(_facts(plan, stop)),
        ranges=tuple(sorted(asked, key=lambda row: not row.planned)),
        lines=tuple(lines),
        notes=tuple(_notes(lines)),
        paper=str(table(plan, "tour").get("paper") or "a4"),
        stop=stop,
    )


def considered_ranges(plan: Plan, need: str) -> list[str]:
    """Return the keys of all ranges that a need considers: those chosen first, then by rank."""
    ranked = [row["range"] for row in rows(plan, "ranking") if row["need"] == need]
    return list(dict.fromkeys([*chosen_ranges(plan, need), *ranked]))


def _ranges(plan: Plan, stop: Plan, need: Plan, wanted: Sequence[str]) -> Iterator[AskedRange]:
    keys = considered_ranges(plan, need["name"])
    own = [key for key in keys if key in wanted] or chosen_ranges(plan, need["name"])
    for key in keys:
        row = table(table(plan, "gear"), key)
        if row:
            yield _range(stop, need, key, row, planned=key in own)


def _range(stop: Plan, need: Plan, key: str, row: Plan, *, planned: bool) -> AskedRange:
    law = rows(table(table(stop, "ranges"), key), "law_spans")
    named = [span for span in law if span.get("law") == "on-request"]
    return AskedRange(
        need=need["name"],
        role=need["role"],
        form=need.get("form") or row.get("form") or "",
        zone=need.get("zone") or "",
        lines=need["count"],
        spares=need["spares"],
        units=need.get("units_per_line") or 1,
        active=tuple(rows(need, "active")),
        range=key,
        planned=planned,
        limits_mhz=tuple((low, high) for low, high in rows(row, "pieces_mhz"))
        or ((row["low_mhz"], row["high_mhz"]),),
        tuning_origin_mhz=row.get("tuning_origin_mhz") or row["low_mhz"],
        step_khz=row["step_khz"],
        bandwidth_khz=row["bandwidth_khz"],
        spacing_khz=row.get("spacing_khz"),
        modulation=row.get("modulation") or "",
        powers_mw=tuple(row["powers_mw"]),
        power_kind=row["power_kind"],
        links_per_block=row.get("links_per_block") or 0,
        on_request_mhz=tuple((low, high) for low, high, _ in merged(named, ("law",))),
    )


def line_names(need: Plan) -> list[str]:
    """Return the names of all lines of a need, those that nobody named by their number."""
    names = [str(name) for name in rows(need, "lines")][: need["count"]]
    return names + [f"{need['name']} {n + 1}" for n in range(len(names), need["count"])]


def _lines(stop: Plan, need: Plan, asked: Sequence[AskedRange]) -> Iterator[AskedLine]:
    if not asked:
        return
    ways: dict[str, list[Plan]] = {}
    for carrier in rows(stop, "carriers"):
        if carrier["need"] == need["name"]:
            ways.setdefault(carrier["name"], []).append(carrier)
    names = [(f"{need['name']} {n + 1}", name) for n, name in enumerate(line_names(need))]
    spares = [f"{need['name']} spare {n + 1}" for n in range(need["spares"])]
    # spares of blocks are named by their block
    spares = [name for name in ways if _is_spare(ways[name])] or spares
    for line, name in [*names, *((spare, spare) for spare in spares)]:
        for carrier in ways.get(name) or [{}]:
            row = next((row for row in asked if row.range == carrier.get("range")), None)
            back = " (return)" if carrier.get("direction") == _RETURN else ""
            yield AskedLine(
                line=line + back,
                name=name,
                asked=row or asked[0],
                spare=line == name and name in spares,
                fixed=False,
                planned_mhz=carrier["frequency_mhz"] if row and carrier else None,
                power_mw=carrier.get("power_mw") if row else None,
                block=carrier.get("block") or "",
            )


def _is_spare(carriers: Sequence[Plan]) -> bool:
    return any(carrier.get("spare") for carrier in carriers)


def _fixed(plan: Plan, stop: Plan) -> Iterator[AskedLine]:
    for carrier in rows(stop, "carriers"):
        row = table(table(plan, "gear"), str(carrier.get("range")))
        if not carrier.get("fixed") or not row:
            continue
        need = {"name": "", "role": carrier["role"], "count": 1, "spares": 0}
        need |= {"form": carrier.get("form"), "zone": carrier.get("zone")}
        yield AskedLine(
            line="",
            name=carrier["name"],
            asked=_range(stop, need, str(carrier["range"]), row, planned=True),
            spare=False,
            fixed=True,
            planned_mhz=carrier["frequency_mhz"],
            power_mw=carrier.get("power_mw"),
        )


def antenna_place(asked: AskedRange) -> str:
    """Say where the transmitting antenna of a line is."""
    if asked.form == "rack" or asked.role in FROM_RACK:
        return "at the racks"
    if asked.role == "mic" or asked.form in ("hand-held", "body-worn"):
        return "carried"
    return ""


def _issue(plan: Plan) -> str:
    made = table(plan, "made")
    before = made.get("replaces")
    return f"issue {made.get('issue')}" + (f", replaces {before}" if before else "")


def _facts(plan: Plan, stop: Plan) -> Iterator[tuple[str, str]]:
    yield "Production", words.clean(table(plan, "tour").get("name"))
    yield "Venue", words.clean(stop.get("venue")) or "to be told"
    yield "Place", f"{words.clean(stop['place'])} ({words.clean(stop['country'])})"
    error = words.short_number(stop["location_error_km"])
    yield "Position", f"{words.position(stop['lat_deg'], stop['lon_deg'])}, within {error} km"
    yield "Days", words.days(stop["first_date"], stop["last_date"])
    load_in = words.clean(stop.get("load_in"))
    yield "On the air from", f"load-in, {load_in} local time" if load_in else "load-in, time open"
    height_m = stop.get("antenna_height_m")
    height = "" if height_m is None else f", {words.short_number(height_m)} m above the ground"
    yield "Antennas at the racks", f"{words.clean(stop['setting'])}{height}"
    licences = [
        f"{words.clean(row['kind'])}, holder {words.clean(row.get('holder')) or 'not named'}"
        for row in rows(stop, "licences")
    ]
    yield "Licences held here", "; ".join(licences) or "none"
    for row in rows(plan, "deadlines"):
        if row["stop"] == stop["id"] and row.get("apply_by"):
            to = f" to {words.clean(row['apply_to'])}" if row.get("apply_to") else ""
            yield f"Apply by ({words.clean(row['licence_kind'])})", words.day(row["apply_by"]) + to
    yield "Stop in our plan", f"{words.clean(stop['id'])}, {place_of(plan, stop['id'])}"


def hours(active: Sequence[str]) -> str:
    """Write the hours of a need: from and to, or the whole day."""
    return " to ".join(words.clean(text) for text in active) or _DAY


def _notes(lines: Sequence[AskedLine]) -> Iterator[str]:
    yield (
        "Planned frequencies are our proposal: free of intermodulation among themselves by our "
        "computation, from tables and rules as we read them; not measured and not permitted by it."
    )
    yield (
        "Please give frequencies within the tuning limits and on the step, counted from the tuning "
        "origin. Fill in the column of assigned frequencies and send the table back, or send any "
        "list of frequencies with names or line numbers."
    )
    if any(row.spare for row in lines):
        yield "Spares are frequencies to fall back to; their lines then leave their own."
    if any(row.fixed for row in lines):
        yield "Fixed lines cannot be retuned: please keep their frequencies free for them."
    if any(row.block for row in lines):
        yield (
            "Lines that share a block have one frequency, the middle of the block, which is as "
            "wide as the bandwidth says."
        )
