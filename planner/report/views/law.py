"""What a sheet says of the rules: limits by range, licences, and what each range finds."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.report import words
from planner.report.reading import Plan, chosen_ranges, merged, need_names, rows, table

if TYPE_CHECKING:
    from collections.abc import Iterable

_LAW_KEYS = ("law", "limit_mw", "limit_kind", "rule", "licence", "holder")


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LawRow:
    """One span in which one permission holds; ``under`` names the licence and its holder."""

    span: str
    law: str
    limit: str
    under: str
    rule: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RangeLawView:
    """What the rules ask at one stop of the ranges that they treat alike."""

    ranges: str
    rows: tuple[LawRow, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CapacityView:
    """What one range finds at one stop; counts are for this range alone."""

    range: str
    used: bool
    usable: str
    found: str
    limit: str
    windows: str
    carriers: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LawView:
    """Rules, licences and room at one stop.

    Attributes
    ----------
    asks : tuple of str
        Duties that the rules put on the user here, as the plan words them.
    """

    ranges: tuple[RangeLawView, ...]
    capacity: tuple[CapacityView, ...]
    licences: tuple[str, ...]
    asks: tuple[str, ...]


def spans(windows: Iterable[Iterable[float]]) -> str:
    """Write windows [MHz] as text, touching ones joined."""
    parts = [{"low_mhz": low, "high_mhz": high} for low, high in windows]
    return ", ".join(words.mhz_span(low, high) for low, high, _ in merged(parts, ()))


def licence(row: Plan) -> str:
    """Write a licence in one line: country, kind, holder, days and stops."""
    holder = words.clean(row.get("holder"))
    text = f"{words.clean(row['country'])}: {words.clean(row['kind'])}"
    text += f", held by {holder}" if holder else ", holder not named"
    first, last = words.clean(row.get("valid_from")), words.clean(row.get("valid_to"))
    if first:
        text += f", from {first}"
    if last:
        text += f", to {last}"
    stops = [words.clean(stop) for stop in rows(row, "stops")]
    return text + (f", at {words.listed(stops)} only" if stops else "")


def _under(law: str, kind: str | None, holder: str | None) -> str:
    if law == "barred":
        return words.NONE
    named = [words.clean(part) for part in (kind, holder) if part]
    return ", ".join(named) or "no licence"


def _law_rows(found: Plan) -> tuple[LawRow, ...]:
    return tuple(
        LawRow(
            span=words.mhz_span(low, high),
            law=words.clean(law),
            limit=words.power(limit_mw, limit_kind) if law != "barred" else words.NONE,
            under=_under(law, kind, holder),
            rule=words.clean(rule) or words.NONE,
        )
        for low, high, (law, limit_mw, limit_kind, rule, kind, holder) in merged(
            rows(found, "law_spans"), _LAW_KEYS
        )
    )


def _range_laws(ranges: Plan, used: list[str]) -> tuple[RangeLawView, ...]:
    groups: dict[tuple[LawRow, ...], list[str]] = {}
    for key in used:
        groups.setdefault(_law_rows(ranges[key]), []).append(words.clean(key))
    return tuple(
        RangeLawView(ranges=words.listed(keys), rows=laws) for laws, keys in groups.items()
    )


def capacity(key: str, found: Plan, *, used: bool = False) -> CapacityView:
    """Turn a range's count at a stop into text; ``limit`` says whether it is proven reached."""
    limit = words.whole(found.get("carriers_limit"))
    carriers = ", ".join(words.mhz(value) for value in found.get("carriers_mhz") or ())
    return CapacityView(
        range=words.clean(key),
        used=used,
        usable=words.short_number(found["usable_mhz"]),
        found=words.whole(found.get("carriers_found")),
        limit=f"{limit}, reached" if found.get("proven") else limit,
        windows=spans(rows(found, "windows_mhz")) or "none",
        carriers=carriers,
    )


def used_ranges(plan: Plan, stop: Plan) -> list[str]:
    """Return the ranges that this stop's carriers use or that the plan chose, in that order."""
    carried = [row["range"] for row in rows(stop, "carriers") if row.get("range")]
    chosen = [key for need in need_names(plan) for key in chosen_ranges(plan, need)]
    return list(dict.fromkeys([*chosen, *carried]))


def law_view(plan: Plan, stop: Plan) -> LawView:
    """Collect what the law asks of the ranges in use, and what every range finds here."""
    ranges = table(stop, "ranges")
    used = [key for key in used_ranges(plan, stop) if key in ranges]
    ordered = [*used, *(key for key in ranges if key not in used)]
    licences = rows(stop, "licences")
    return LawView(
        ranges=_range_laws(ranges, used),
        capacity=tuple(capacity(key, ranges[key], used=key in used) for key in ordered),
        licences=tuple(licence(row) for row in licences),
        asks=tuple(words.clean(line) for line in rows(stop, "law_asks")),
    )
