"""Which spans and channels of a stop changed their air or their law, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.plan.compare_parts import CAME, CHANGED, GONE, changed_keys
from planner.units import hz_to_mhz, mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

_VERDICT = ("air", "law", "excluded")
_HERE = (
    "lat_deg", "lon_deg", "location_error_km", "setting", "antenna_height_m", "first_date",
    "last_date", "licences",
)  # fmt: skip
_BEARING = (
    "noise_rise_limit_db",
    "interference_time_percent",
    "building_loss",
    "field_model",
)

Row = dict[str, Any]


def verdict_changes(
    old: Mapping[str, Any],
    new: Mapping[str, Any],
    stations: Sequence[Mapping[str, Any]],
    settings: Sequence[Mapping[str, Any]],
) -> dict[str, Any]:
    """Return the spans and channels of a stop whose verdict changed.

    Parameters
    ----------
    old, new : mapping
        One stop in two plans.
    stations : sequence of mapping
        Transmitters that came, went or changed.
    settings : sequence of mapping
        Settings that changed.

    Returns
    -------
    dict
        ``spans`` and ``channels`` with both verdicts and ``why`` (reasons that came, went or
        changed, each with its station and what happened to it); ``here``, what changed of the
        stop or the settings and bears on every verdict; empty when no verdict changed. Only what
        both plans searched is compared; ``searched`` tells the rest.
    """
    known = {row["station_id"]: row for row in stations}
    spans = list(_spans(old.get("spans") or (), new.get("spans") or (), known))
    before = {row["channel"]: row for row in old.get("channels") or ()}
    channels = [
        {"channel": row["channel"], **_changed(before[row["channel"]], row, known)}
        for row in new.get("channels") or ()
        if row["channel"] in before and _verdict(before[row["channel"]]) != _verdict(row)
    ]
    searched = _searched(old, new)
    if not (spans or channels or searched):
        return {}
    here = changed_keys(old, new, only=_HERE)
    here += [dict(row) for row in settings if row["key"] in _BEARING]
    return {"spans": spans, "channels": channels, "here": here, "searched": searched}


def span_why(changes: Mapping[str, Any], low_hz: int, high_hz: int) -> list[Row]:
    """Return the changed spans that overlap a span [Hz]."""
    return [
        row
        for row in changes.get("spans") or ()
        if mhz_to_hz(row["low_mhz"]) < high_hz and low_hz < mhz_to_hz(row["high_mhz"])
    ]


def _spans(
    old: Sequence[Row], new: Sequence[Row], known: Mapping[str, Mapping[str, Any]]
) -> Iterator[Row]:
    """Cut both coverings at all edges, tell the pieces that differ, join equal neighbours."""
    current: Row | None = None
    for low, high, before, after in _pieces(old, new):
        if _verdict(before) == _verdict(after):
            continue
        piece = _changed(before, after, known)
        ends = {"low_mhz": hz_to_mhz(low), "high_mhz": hz_to_mhz(high)}
        if current and current["high_mhz"] == ends["low_mhz"] and _same(current, piece):
            current["high_mhz"] = ends["high_mhz"]
            continue
        if current:
            yield current
        current = {**ends, **piece}
    if current:
        yield current


def _same(current: Row, piece: Row) -> bool:
    return all(current[key] == piece[key] for key in piece)


def _pieces(old: Sequence[Row], new: Sequence[Row]) -> Iterator[tuple[int, int, Row, Row]]:
    i = j = 0
    while i < len(old) and j < len(new):
        low = max(mhz_to_hz(old[i]["low_mhz"]), mhz_to_hz(new[j]["low_mhz"]))
        ends = mhz_to_hz(old[i]["high_mhz"]), mhz_to_hz(new[j]["high_mhz"])
        if low < min(ends):
            yield low, min(ends), old[i], new[j]
        if ends[0] <= ends[1]:
            i += 1
        if ends[1] <= ends[0]:
            j += 1


def _verdict(row: Mapping[str, Any]) -> tuple[Any, ...]:
    return row.get("air"), row.get("law"), bool(row.get("excluded"))


def _changed(
    old: Mapping[str, Any], new: Mapping[str, Any], known: Mapping[str, Mapping[str, Any]]
) -> Row:
    found: Row = {}
    for key in _VERDICT:
        if key in old or key in new:
            found |= {f"old_{key}": old.get(key), f"new_{key}": new.get(key)}
    found["why"] = _why(old.get("reasons") or (), new.get("reasons") or (), known)
    return found


def _why(
    old: Sequence[Row], new: Sequence[Row], known: Mapping[str, Mapping[str, Any]]
) -> list[Row]:
    before, after = (
        {(row["code"], row.get("station_id")): row for row in rows} for rows in (old, new)
    )
    found = []
    for key in dict.fromkeys((*before, *after)):
        if before.get(key) == after.get(key):
            continue
        change = GONE if key not in after else CAME if key not in before else CHANGED
        station = known.get(key[1]) if key[1] else None
        found.append(
            {
                "change": change,
                "code": key[0],
                "station_id": key[1],
                "text": (after.get(key) or before[key])["text"],
                "station": station["change"] if station else None,
                "station_facts": [row["key"] for row in station["facts"]] if station else [],
            }
        )
    return found


def _searched(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[Row]:
    """Return the runs of spectrum that only one of the plans searched here."""
    before, after = (_runs(stop.get("spans") or ()) for stop in (old, new))
    return [
        {"change": change, "low_mhz": hz_to_mhz(low), "high_mhz": hz_to_mhz(high)}
        for change, mine, other in ((GONE, before, after), (CAME, after, before))
        for run in mine
        for low, high in _without(run, other)
    ]


def _runs(spans: Sequence[Row]) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    for row in spans:
        low, high = mhz_to_hz(row["low_mhz"]), mhz_to_hz(row["high_mhz"])
        if found and found[-1][1] >= low:
            found[-1] = found[-1][0], max(high, found[-1][1])
        else:
            found.append((low, high))
    return found


def _without(run: tuple[int, int], others: Sequence[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    low, high = run
    for start, end in others:
        if low < min(start, high):
            yield low, min(start, high)
        low = max(low, end)
    if low < high:
        yield low, high
