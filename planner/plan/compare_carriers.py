"""Which lines of a stop are set otherwise than before, and why."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from planner.plan.compare_parts import changed_keys
from planner.plan.compare_verdicts import span_why, verdict_changes
from planner.units import format_mhz, mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_SET = ("frequency_mhz", "range", "power_mw", "power_kind")
_SHOWN = (*_SET, "law", "rule", "spare", "fixed", "other", "assigned")
Key = tuple[str, str, int]


def carrier_changes(
    old: Mapping[str, Any], new: Mapping[str, Any], choice: Sequence[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Return the carriers of a stop that came, went or changed, by need and name.

    Parameters
    ----------
    old, new : mapping
        One stop in two plans.
    choice : sequence of mapping
        Needs whose chosen ranges changed.

    Returns
    -------
    list of dict
        ``{need, name, change, old, new, facts, why}``; ``change`` is ``"retuned"`` (frequency,
        range or power), ``"new"``, ``"gone"`` or ``"other"`` (its law, rule or kind). ``why``
        says what the two plans show: a span that is no longer usable, a choice, a new
        neighbour; where they show nothing it says so.
    """
    before, after = _by_name(old), _by_name(new)
    verdicts = verdict_changes(old, new, (), ())
    found = []
    for key in dict.fromkeys((*after, *before)):
        was, now = before.get(key), after.get(key)
        facts = changed_keys(was, now, only=_SHOWN) if was and now else []
        if was and now and not facts:
            continue
        change = "new" if not was else "gone" if not now else "other"
        if any(row["key"] in _SET for row in facts):
            change = "retuned"
        row = now or was or {}
        found.append(
            {
                "need": row["need"],
                "name": row["name"],
                "change": change,
                "old": _setting(was),
                "new": _setting(now),
                "facts": facts,
                "why": "",
            }
        )
    for row in found:
        row["why"] = _why(row, found, old, new, choice=choice, verdicts=verdicts)
    return found


def _by_name(stop: Mapping[str, Any]) -> dict[Key, Mapping[str, Any]]:
    seen: Counter[tuple[str, str]] = Counter()
    found: dict[Key, Mapping[str, Any]] = {}
    for row in stop["carriers"]:
        name = (row["need"] or "", row["name"] + (row.get("direction") == "return") * " (return)")
        found[(*name, seen[name])] = row
        seen[name] += 1
    return found


def _setting(row: Mapping[str, Any] | None) -> dict[str, Any] | None:
    return None if row is None else {key: row.get(key) for key in _SHOWN}


def _why(
    row: Mapping[str, Any],
    rows: Sequence[Mapping[str, Any]],
    old: Mapping[str, Any],
    new: Mapping[str, Any],
    *,
    choice: Sequence[Mapping[str, Any]],
    verdicts: Mapping[str, Any],
) -> str:
    was, now = row["old"], row["new"]
    if was is None:
        return "a line that the old plan did not set here"
    if now is None:
        return _gone(row, new)
    if was["frequency_mhz"] == now["frequency_mhz"] and was["range"] == now["range"]:
        return ", ".join(
            f"{fact['key'].removesuffix('_mw')} {fact['old']} -> {fact['new']}"
            for fact in row["facts"]
        )
    if row["need"] is None:
        return "the tour file names another frequency"
    return _closed(row, old, new, choice=choice, verdicts=verdicts) or _made_room(
        row, rows, old, new
    )


def _made_room(
    row: Mapping[str, Any],
    rows: Sequence[Mapping[str, Any]],
    old: Mapping[str, Any],
    new: Mapping[str, Any],
) -> str:
    """Say for whom a line left a frequency that it could still use."""
    taken = _user(new, row["old"]["frequency_mhz"])
    if taken:
        return f"its frequency went to {taken}"
    fresh = [other["name"] for other in rows if other["change"] == "new"]
    if fresh:
        return f"made room: new here {_names(fresh)}"
    moved = [
        other["name"]
        for other in rows
        if other["change"] == "retuned" and other is not row and not _stays(other, old, new)
    ]
    if moved:
        return f"made room: {_names(moved)} had to move"
    return "its old frequency is still usable; the plans do not show what moved it"


def _gone(row: Mapping[str, Any], new: Mapping[str, Any]) -> str:
    short = [item for item in new.get("short") or () if item["need"] == row["need"]]
    if row["need"] is not None and short:
        return f"no room: {short[0]['missing']} missing here; {short[0].get('binding') or ''}"
    return "the tour no longer asks for it here"


def _fits(row: Mapping[str, Any], old: Mapping[str, Any], here: Mapping[str, Any]) -> bool:
    """Say whether the old frequency lies in the windows that its range has now."""
    low, high = _occupied(row, old)
    windows = list(here.get("windows_mhz") or ())
    if row["new"]["spare"]:
        windows += here.get("faint_windows_mhz") or ()
    return any(mhz_to_hz(a) <= low and high <= mhz_to_hz(b) for a, b in windows)


def _stays(row: Mapping[str, Any], old: Mapping[str, Any], new: Mapping[str, Any]) -> bool:
    here = (new.get("ranges") or {}).get(row["old"]["range"])
    return row["need"] is not None and here is not None and _fits(row, old, here)


def _occupied(row: Mapping[str, Any], old: Mapping[str, Any]) -> tuple[int, int]:
    centre = mhz_to_hz(row["old"]["frequency_mhz"])
    width_khz = next(
        (
            item.get("bandwidth_khz") or 0
            for item in old["carriers"]
            if (item["need"], item["name"]) == (row["need"], row["name"])
        ),
        0,
    )
    half = round(width_khz * 500)
    return centre - half, centre + half


def _closed(
    row: Mapping[str, Any],
    old: Mapping[str, Any],
    new: Mapping[str, Any],
    *,
    choice: Sequence[Mapping[str, Any]],
    verdicts: Mapping[str, Any],
) -> str:
    """Say why the old frequency cannot be used any more; empty where it still can."""
    was = row["old"]
    if any(fact["need"] == row["need"] and was["range"] not in fact["new"] for fact in choice):
        return f"{was['range']} is no longer chosen for {row['need']}"
    here = (new.get("ranges") or {}).get(was["range"])
    if here is None:
        return f"{was['range']} is no longer in the catalogue"
    return "" if _fits(row, old, here) else _unusable(row, old, verdicts)


def _unusable(row: Mapping[str, Any], old: Mapping[str, Any], verdicts: Mapping[str, Any]) -> str:
    """Name the changed spans under an old frequency, with their reasons."""
    low, high = _occupied(row, old)
    parts = []
    for span in span_why(verdicts, low, high):
        words = [
            f"{key} {span[f'old_{key}']} -> {span[f'new_{key}']}"
            for key in ("air", "law")
            if span[f"old_{key}"] != span[f"new_{key}"]
        ]
        if span.get("old_excluded") != span.get("new_excluded"):
            words.append("closed by the tour file" if span["new_excluded"] else "opened again")
        reasons = [item["text"] for item in span["why"] if item["change"] != "gone"]
        parts.append(", ".join(words) + (f" ({'; '.join(reasons)})" if reasons else ""))
    head = f"{format_mhz(mhz_to_hz(row['old']['frequency_mhz']))} MHz is no longer usable"
    return f"{head}: {'; '.join(dict.fromkeys(parts))}" if parts else head


def _user(stop: Mapping[str, Any], frequency_mhz: float) -> str:
    return next(
        (row["name"] for row in stop["carriers"] if row["frequency_mhz"] == frequency_mhz), ""
    )


def _names(names: Sequence[str], most: int = 3) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
