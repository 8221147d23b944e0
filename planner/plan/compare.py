"""What changed between two plans, and why: ``passband-compare/1``."""

from __future__ import annotations

import bisect
from typing import TYPE_CHECKING, Any

from planner.plan.compare_carriers import carrier_changes
from planner.plan.compare_parts import changed_keys, keyed_changes, list_changes
from planner.plan.compare_verdicts import verdict_changes
from planner.plan.previous import matched_rows

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

SCHEMA = "passband-compare/1"
_STOP_FACTS = (
    "id", "place", "venue", "country", "lat_deg", "lon_deg", "location_error_km", "first_date",
    "last_date", "setting", "rig", "status", "load_in", "antenna_height_m",
)  # fmt: skip
_STATEMENTS = ("licences", "others", "cleared", "assignments")
_STOP_DETAILED = {*_STOP_FACTS, *_STATEMENTS, "channels", "spans", "carriers", "short"}
_DETAILED = {
    "schema", "tour", "made", "inputs", "transmitters", "stops", "ranking", "combinations",
    "warnings", "cautions", "needs", "choice", "owned",
}  # fmt: skip
_RANKED = (
    "rank", "stops_met", "stops", "worst_stop", "worst_headroom", "worst_headroom_limit",
    "retunes", "why",
)  # fmt: skip

Pair = tuple[dict[str, Any], dict[str, Any]]


def compare_plans(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """Return what changed from one plan document to another, as plain values.

    Parameters
    ----------
    old, new : mapping
        Plan documents of schema ``passband-plan/1``; keys that one of them lacks count as empty.

    Returns
    -------
    dict
        ``passband-compare/1``. ``same`` is True when nothing but the making differs (version,
        effort, steps, issue, earlier plans followed). Stops are matched as a re-run matches them
        (country and coordinates to 1e-4 deg, n-th visit to n-th visit); those left over by their
        id, and then told as moved. Every list is in route or document order; ``elsewhere`` names
        parts that differ and are not told in detail.
    """
    pairs, by_id, dropped, added = _matched(old, new)
    matched = [*pairs, *by_id]
    matched.sort(key=lambda pair: new["stops"].index(pair[1]))
    stations = keyed_changes(_table(old, "transmitters"), _table(new, "transmitters"), "station_id")
    settings = changed_keys(_settings(old), _settings(new))
    needs = keyed_changes(_by_name(old), _by_name(new), "need")
    choice = [
        {"need": row["key"], "old": _listed(row["old"]), "new": _listed(row["new"])}
        for row in changed_keys(_choice(old), _choice(new))
    ]
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "same": False,
        "made": changed_keys(old["made"], new["made"]),
        "inputs": _inputs(old, new),
        "tour": changed_keys(_tour(old), _tour(new)),
        "settings": settings,
        "statements": [
            *_told("licence", list_changes(_table(old, "tour"), _table(new, "tour"), "licences")),
            *_told("owned", list_changes(old, new, "owned")),
        ],
        "needs": needs,
        "route": {
            "added": [_stop_name(row) for row in added],
            "dropped": [_stop_name(row) for row in dropped],
            "changed": _stop_facts(matched, by_id),
            "reordered": _reordered(old, matched),
        },
        "stations": stations,
        "ranking": _ranking(old, new),
        "choice": choice,
        "combinations": _combinations(old, new),
        "verdicts": _each(matched, lambda a, b: verdict_changes(a, b, stations, settings)),
        "carriers": _each(matched, lambda a, b: carrier_changes(a, b, choice)),
        "short": _each(matched, _shortages),
        "warnings": list_changes(old, new, "warnings"),
        "cautions": list_changes(old, new, "cautions"),
        "elsewhere": [],
    }
    document["elsewhere"] = _elsewhere(old, new, matched, document)
    quiet = {"schema", "same", "made", "route"}
    told = any(document["route"].values()) or any(
        value for key, value in document.items() if key not in quiet
    )
    if not told and _bare(old) != _bare(new):
        document["elsewhere"] = ["the order of lists"]
    document["same"] = not told and not document["elsewhere"]
    document["counts"] = _counts(old, new, document)
    return document


def _matched(
    old: Mapping[str, Any], new: Mapping[str, Any]
) -> tuple[list[Pair], list[Pair], list[Any], list[Any]]:
    """Return stops matched by place, by id, and those of one plan only."""
    found = matched_rows(old["stops"], new["stops"])
    pairs = [(old["stops"][i], row) for row, i in zip(new["stops"], found, strict=True) if i >= 0]
    gone = {row["id"]: row for index, row in enumerate(old["stops"]) if index not in set(found)}
    by_id, added = [], []
    for row, index in zip(new["stops"], found, strict=True):
        if index >= 0:
            continue
        before = gone.pop(row["id"], None)
        if before is None:
            added.append(row)
        else:
            by_id.append((before, row))
    return pairs, by_id, list(gone.values()), added


def _stop_name(stop: Mapping[str, Any]) -> dict[str, Any]:
    return {key: stop.get(key) for key in ("id", "place", "first_date", "last_date")}


def _stop_facts(matched: Sequence[Pair], by_id: Sequence[Pair]) -> list[dict[str, Any]]:
    found = []
    elsewhere = {new["id"] for _, new in by_id}
    for old, new in matched:
        facts = changed_keys(old, new, only=_STOP_FACTS)
        lists = [row for key in _STATEMENTS for row in _told(key, list_changes(old, new, key))]
        if facts or lists:
            found.append(
                {
                    "stop": new["id"],
                    "place": new.get("place"),
                    "moved": new["id"] in elsewhere,
                    "facts": facts,
                    "statements": lists,
                }
            )
    return found


def _reordered(old: Mapping[str, Any], matched: Sequence[Pair]) -> list[str]:
    """Return the fewest stops whose move explains the new order."""
    places = [old["stops"].index(before) for before, _ in matched]
    tails: list[int] = []
    lengths = []
    for place in places:
        at = bisect.bisect_left(tails, place)
        tails[at : at + 1] = [place]
        lengths.append(at)
    wanted, kept = len(tails) - 1, set()
    for index in reversed(range(len(places))):
        if lengths[index] == wanted:
            kept.add(index)
            wanted -= 1
    return [new["id"] for index, (_, new) in enumerate(matched) if index not in kept]


def _each(
    matched: Sequence[Pair],
    tell: Callable[[dict[str, Any], dict[str, Any]], list[dict[str, Any]] | dict[str, Any]],
) -> list[dict[str, Any]]:
    found = []
    for old, new in matched:
        told = tell(old, new)
        if told:
            rows = told if isinstance(told, dict) else {"rows": told}
            found.append({"stop": new["id"], "place": new.get("place"), **rows})
    return found


def _shortages(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[dict[str, Any]]:
    before, after = ({row["need"]: row for row in stop.get("short") or ()} for stop in (old, new))
    return [
        {
            "need": need,
            "old_missing": before.get(need, {}).get("missing", 0),
            "new_missing": after.get(need, {}).get("missing", 0),
            "binding": after.get(need, {}).get("binding"),
        }
        for need in dict.fromkeys((*before, *after))
        if before.get(need) != after.get(need)
    ]


def _inputs(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Tell the files that differ; an earlier plan that was followed is no input of the plan."""
    before, after = (
        {row["file"]: row for row in plan["inputs"] if not row["file"].endswith(".json")}
        for plan in (old, new)
    )
    return keyed_changes(before, after, "file")


def _ranking(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[dict[str, Any]]:
    before, after = (
        {(row["need"], row["range"]): row for row in plan.get("ranking") or ()}
        for plan in (old, new)
    )
    return [
        {"need": need, "range": key, **_ranked(before.get((need, key)), after.get((need, key)))}
        for need, key in dict.fromkeys((*after, *before))
        if before.get((need, key)) != after.get((need, key))
    ]


def _combinations(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[dict[str, Any]]:
    before, after = (
        {
            tuple((need, *_listed(keys)) for need, keys in row["ranges"].items()): row
            for row in plan.get("combinations") or ()
        }
        for plan in (old, new)
    )
    return [
        {
            "ranges": {need: list(ranges) for need, *ranges in key},
            **_ranked(before.get(key), after.get(key)),
        }
        for key in dict.fromkeys((*after, *before))
        if before.get(key) != after.get(key)
    ]


def _ranked(old: Mapping[str, Any] | None, new: Mapping[str, Any] | None) -> dict[str, Any]:
    return {
        "old_rank": old["rank"] if old else None,
        "new_rank": new["rank"] if new else None,
        "facts": changed_keys(old, new, only=_RANKED) if old and new else [],
        "why": (new or old or {}).get("why"),
    }


def _elsewhere(
    old: Mapping[str, Any],
    new: Mapping[str, Any],
    matched: Sequence[Pair],
    document: Mapping[str, Any],
) -> list[str]:
    """Name every part that differs and is told nowhere else."""
    told = {part: {row["stop"] for row in document[part]} for part in ("verdicts", "carriers")}
    figures = (("channels", "verdicts"), ("spans", "verdicts"), ("carriers", "carriers"))
    found = [
        key
        for key in dict.fromkeys((*old, *new))
        if key not in _DETAILED and old.get(key) != new.get(key)
    ]
    for before, after in matched:
        keys = [key for key in dict.fromkeys((*before, *after)) if key not in _STOP_DETAILED]
        keys += [key for key, part in figures if after["id"] not in told[part]]
        found += [f"{after['id']}: {key}" for key in keys if before.get(key) != after.get(key)]
    return found


def _bare(plan: Mapping[str, Any]) -> dict[str, Any]:
    """Return a plan without how it was made and which earlier plans it followed."""
    inputs = [row for row in plan["inputs"] if not row["file"].endswith(".json")]
    return {**plan, "made": None, "inputs": inputs}


def _counts(
    old: Mapping[str, Any], new: Mapping[str, Any], document: Mapping[str, Any]
) -> dict[str, Any]:
    carriers = [row for stop in document["carriers"] for row in stop["rows"]]
    words = ("retuned", "new", "gone", "other")
    retunes = [
        sum(bool(row["retuned"]) for stop in plan["stops"] for row in stop["carriers"])
        for plan in (old, new)
    ]
    return {
        "old_stops": len(old["stops"]),
        "new_stops": len(new["stops"]),
        "stops_with_other_verdicts": len(document["verdicts"]),
        "stops_with_other_carriers": len(document["carriers"]),
        "carriers": {word: sum(row["change"] == word for row in carriers) for word in words},
        "old_retunes": retunes[0],
        "new_retunes": retunes[1],
    }


def _told(what: str, changes: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{"what": what, **row} for row in changes]


def _table(source: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    return source.get(key) or {}


def _tour(plan: Mapping[str, Any]) -> dict[str, Any]:
    return {
        key: value
        for key, value in _table(plan, "tour").items()
        if key not in ("licences", "settings")
    }


def _settings(plan: Mapping[str, Any]) -> Mapping[str, Any]:
    return _table(_table(plan, "tour"), "settings")


def _by_name(plan: Mapping[str, Any]) -> dict[str, Any]:
    return {row["name"]: row for row in plan.get("needs") or ()}


def _choice(plan: Mapping[str, Any]) -> dict[str, list[str]]:
    return {need: _listed(keys) for need, keys in _table(plan, "choice").items()}


def _listed(value: Any) -> list[str]:  # noqa: ANN401 - one key, several or none
    if value is None:
        return []
    return [value] if isinstance(value, str) else list(value)
