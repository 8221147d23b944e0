"""What people have said of a stop: others on the air, cleared spans, assignments, licences."""

from __future__ import annotations

import dataclasses

from planner.report import words
from planner.report.reading import Plan, rows

FREES = {"air": ("air", "air_at_point"), "law": ("law", "law_at_point")}
"""Verdict at the worst of the nine points, and at the point itself."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class OtherView:
    """Somebody else's use, which we cannot move."""

    owner: str
    mhz: str
    active: str
    kept_off: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ClearedView:
    """A span that a responsible person states to be free, with who, when and on what ground."""

    span: str
    basis: str
    level: str
    date: str
    by: str
    text: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AssignmentView:
    """One assigned frequency; ``why`` says why it is unused, empty when it is used."""

    need: str
    mhz: str
    power: str
    reference: str
    used_by: str
    why: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AtRiskView:
    """A TV channel whose verdict hangs on the venue's coordinates, now and at the point."""

    channel: str
    span: str
    now: str
    at_point: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ReserveView:
    """A frequency kept free for people who turn up."""

    name: str
    mhz: str
    bandwidth: str
    ranges: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class PeopleView:
    """What people stated for one stop, and what they could still state.

    Attributes
    ----------
    licences : tuple of str
        Whose licence the carriers here stand on, one sentence a licence.
    assigned, sent_back : tuple of AssignmentView
        Assigned frequencies that are used, and those to send back.
    frees : str
        What the venue's coordinates would free; empty when nothing.
    reserves : tuple of ReserveView
        What is kept free for people who turn up.
    left_out : tuple of str
        Products between zones that are left out, with the assumptions last.
    """

    licences: tuple[str, ...]
    others: tuple[OtherView, ...]
    cleared: tuple[ClearedView, ...]
    assigned: tuple[AssignmentView, ...]
    sent_back: tuple[AssignmentView, ...]
    at_risk: tuple[AtRiskView, ...]
    frees: str
    reserves: tuple[ReserveView, ...]
    left_out: tuple[str, ...]


def _other(row: Plan) -> OtherView:
    centre = row.get("frequency_mhz")
    active = [words.clean(time) for time in rows(row, "active")]
    return OtherView(
        owner=words.clean(row["owner"]),
        mhz=words.mhz_span(row["low_mhz"], row["high_mhz"])
        if centre is None
        else words.mhz(centre),
        active=words.EN_DASH.join(active) or "all day",
        kept_off="our products kept off it" if row.get("protect") else "heeded as a source only",
    )


def _cleared(row: Plan) -> ClearedView:
    level = row.get("level_dbm")
    return ClearedView(
        span=words.mhz_span(row["low_mhz"], row["high_mhz"]),
        basis=words.clean(row["basis"]),
        level="" if level is None else f"{words.figure(level)} dBm",
        date=words.clean(row.get("date")) or "no date",
        by=words.clean(row.get("by")) or "nobody named",
        text=words.clean(row.get("text")),
    )


def _assignment(row: Plan) -> AssignmentView:
    return AssignmentView(
        need=words.clean(row["need"]),
        mhz=words.mhz(row["frequency_mhz"]),
        power=words.power(row.get("power_mw"), None),
        reference=words.clean(row.get("reference")) or words.NONE,
        used_by=words.clean(row.get("used_by")),
        why=words.clean(row.get("why")).rstrip("."),
    )


def _reserve(row: Plan) -> ReserveView:
    return ReserveView(
        name=words.clean(row.get("name") or row["role"]),
        mhz=words.mhz(row["frequency_mhz"]),
        bandwidth=words.short_number(row["bandwidth_khz"]),
        ranges=", ".join(words.clean(key) for key in rows(row, "ranges")),
    )


def _left_out(stop: Plan) -> tuple[str, ...]:
    found = rows(stop, "zones")
    texts = [words.clean(row["text"]) for row in found]
    return tuple(dict.fromkeys((*texts, *(words.clean(row.get("basis")) for row in found[:1]))))


def _at_risk(row: Plan) -> AtRiskView:
    pairs = [
        (words.clean(row[now]), words.clean(row[at_point]))
        for now, at_point in FREES.values()
        if row.get(now) != row.get(at_point)
    ]
    return AtRiskView(
        channel=words.clean(row["channel"]),
        span=words.mhz_span(row["low_mhz"], row["high_mhz"]),
        now=", ".join(now for now, _ in pairs),
        at_point=", ".join(at_point for _, at_point in pairs),
    )


def licence_sentences(stop: Plan) -> tuple[str, ...]:
    """Say whose licence the carriers of a stop stand on, one sentence a licence and holder."""
    counts: dict[tuple[str, str], int] = {}
    for row in rows(stop, "carriers"):
        if row.get("other"):
            continue
        under = words.clean(row.get("licence")), words.clean(row.get("holder"))
        if any(under):
            counts[under] = counts.get(under, 0) + 1
    return tuple(
        f"{holder or 'holder not named: ask before the show'}"
        f" ({kind or 'kind not said'}), for {words.plural(count, 'carrier')} here"
        for (kind, holder), count in counts.items()
    )


def people_view(stop: Plan) -> PeopleView:
    """Collect what people stated for a stop, and what its coordinates would still free."""
    assignments = [_assignment(row) for row in rows(stop, "assignments")]
    risk = stop.get("verdicts_at_risk")
    at_risk = tuple(_at_risk(row) for row in (risk if isinstance(risk, list) else ()))
    return PeopleView(
        licences=licence_sentences(stop),
        others=tuple(_other(row) for row in rows(stop, "others")),
        cleared=tuple(_cleared(row) for row in rows(stop, "cleared")),
        assigned=tuple(row for row in assignments if row.used_by),
        sent_back=tuple(row for row in assignments if not row.used_by),
        at_risk=at_risk,
        frees=(
            f"The venue\u2019s coordinates would free {words.plural(len(at_risk), 'TV channel')}."
            if at_risk
            else ""
        ),
        reserves=tuple(_reserve(row) for row in rows(stop, "reserves")),
        left_out=_left_out(stop),
    )
