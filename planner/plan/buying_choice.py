"""The choice of ranges as a buyer reads it: why, what comes second, what else would do.

Everything is read from the combinations and the ranking of the finished document.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    Row = Mapping[str, Any]
    Headrooms = Mapping[str, Mapping[str, int]]

_DROP_STOP = "drop-stop"
INSTEAD_MOST = 6
"""Alternatives listed for one need at most."""


def choice_document(document: Row) -> dict[str, Any]:
    """Return the choice with its reason: the first combination, else the first of each ranking."""
    chosen = _combinations(document)[:1]
    if chosen:
        return _combination(chosen[0], document) | {"joint": True}
    picked = picked_ranges(document)
    rows = [
        row
        for row in document["ranking"] or ()
        if row["range"] in picked.get(row["need"], ()) and row["worst_headroom"] is not None
    ]
    worst = min(rows, key=lambda row: row["worst_headroom"], default=None)
    return {
        "ranges": picked,
        "stops_met": min((row["stops_met"] for row in rows), default=None),
        "stops": len(document["stops"]),
        "worst_stop": worst["worst_stop"] if worst else None,
        "worst_headroom": {row["need"]: row["worst_headroom"] for row in rows},
        "retunes": None,
        "why": "; ".join(f"{row['need']}: {row['why']}" for row in rows),
        "joint": False,
    }


def runner_up_document(document: Row) -> dict[str, Any] | None:
    """Return the second combination and what sets it behind the first; None without one."""
    rows = _combinations(document)[:2]
    if len(rows) < 2:
        return None
    return _combination(rows[1], document) | {"behind": _behind(rows[0], rows[1])}


def picked_ranges(document: Row) -> dict[str, list[str]]:
    """Return the chosen ranges of each need, in order of preference."""
    return {
        need: [keys] if isinstance(keys, str) else list(keys)
        for need, keys in (document["choice"] or {}).items()
    }


def instead_documents(document: Row, need: str) -> list[dict[str, Any]]:
    """Return what else a need would accept, and what each alternative costs in carriers.

    An alternative that was coordinated beside the chosen ranges of all other needs is ``joint``;
    any other is judged by its count alone. ``headroom`` and ``cost`` hold at the alternative's
    own worst stop: ``cost`` is how many carriers fewer than the choice it finds there, negative
    when it finds more. Alternatives that meet no stop are left out.
    """
    joint = [found for row in _joint_rows(document, need) if (found := _joint(document, row, need))]
    known = {tuple(row["ranges"]) for row in joint}
    alone = [
        found
        for row in _ranked(document, need)
        if (row["range"],) not in known
        and row["range"] not in picked_ranges(document).get(need, ())
        and (found := _alone(document, row))
    ]
    return [row for row in (*joint, *alone) if row["stops_met"]][:INSTEAD_MOST]


def changes_document(document: Row) -> list[dict[str, Any]]:
    """Return what would change the choice or cure its shortages.

    A stop left out, or a need without its spares, is judged by the carriers already found at
    every stop for every combination; the cures of shortages are the plan's own.
    """
    found: list[dict[str, Any]] = []
    short = [stop for stop in document["stops"] if stop["short"]]
    for stop in short:
        for row in stop["short"]:
            for cure in row["cures"] or ():
                if isinstance(cure, str) or cure["missing_after"] > 0:
                    continue
                # leaving one stop out cures the tour only where no other is short
                if cure["cure"] != _DROP_STOP or len(short) == 1:
                    text = f"at {stop['id']}, {row['need']}: {cure['text']}"
                    found.append({"code": cure["cure"], "stop": stop["id"], "text": text})
    return [*found, *_other_winners(document)]


def _combinations(document: Row) -> list[Row]:
    return sorted(document["combinations"] or (), key=lambda row: row["rank"])


def _combination(row: Row, document: Row) -> dict[str, Any]:
    return {
        "ranges": {need: list(keys) for need, keys in row["ranges"].items()},
        "stops_met": row["stops_met"],
        "stops": row.get("stops", len(document["stops"])),
        "worst_stop": row["worst_stop"],
        "worst_headroom": dict(row["worst_headroom"]),
        "retunes": row["retunes"],
        "why": row["why"],
    }


def _behind(first: Row, second: Row) -> str:
    """Say what decides between two combinations, in the order in which it counts."""
    confirmed = first.get("confirmed_met"), second.get("confirmed_met")
    if None not in confirmed and confirmed[0] != confirmed[1]:
        return f"met at {confirmed[1]} of the confirmed stops, the choice at {confirmed[0]}"
    if first["stops_met"] != second["stops_met"]:
        return f"met at {second['stops_met']} of the stops, the choice at {first['stops_met']}"
    worst = _least(first["worst_headroom"]), _least(second["worst_headroom"])
    if worst[0] != worst[1]:
        return (
            f"{_counted(worst[0] - worst[1])} fewer at its worst stop, {second['worst_stop']}"
            if worst[0] > worst[1]
            else f"more room at its worst stop, {second['worst_stop']}, but behind by the order"
        )
    more = (second["retunes"] or 0) - (first["retunes"] or 0)
    if more > 0:
        return f"as many stops and as much room, but {more} more to retune"
    return "as good by every count; the order of the catalogue or gear already owned decides"


def _counted(carriers: int) -> str:
    return f"{carriers} carrier{'s' * (carriers != 1)}"


def _least(headrooms: Mapping[str, int]) -> int:
    return min(headrooms.values(), default=0)


def _joint_rows(document: Row, need: str) -> list[Row]:
    """Return the combinations that differ from the choice in this need only."""
    first, *rest = _combinations(document) or [{"ranges": {}}]
    others = {name: keys for name, keys in first["ranges"].items() if name != need}
    return [
        row
        for row in rest
        if {name: keys for name, keys in row["ranges"].items() if name != need} == others
    ]


def _worst(headrooms: Mapping[str, int]) -> tuple[str, int]:
    """Return the first stop of the route with the least headroom."""
    return min(headrooms.items(), key=lambda item: item[1])


def _joint(document: Row, row: Row, need: str) -> dict[str, Any] | None:
    heads = {stop: mine[need] for stop, mine in row["headrooms"].items() if need in mine}
    if not heads or need not in row["ranges"]:
        return None
    stop, headroom = _worst(heads)
    first = _combinations(document)[0]["headrooms"].get(stop, {}).get(need)
    single = row["ranges"][need][0] if len(row["ranges"][need]) == 1 else None
    alone = next((r for r in _ranked(document, need) if r["range"] == single), None)
    return {
        "ranges": list(row["ranges"][need]),
        "joint": True,
        "stops_met": sum(head >= 0 for head in heads.values()),
        "stops": len(heads),
        "worst_stop": stop,
        "headroom": headroom,
        "cost": None if first is None else first - headroom,
        "alone_cost": _alone_cost(document, alone) if alone else None,
        "retunes": row["retunes"],
    }


def _alone(document: Row, row: Row) -> dict[str, Any] | None:
    if row["worst_stop"] is None:
        return None
    cost = _alone_cost(document, row)
    return {
        "ranges": [row["range"]],
        "joint": False,
        "stops_met": row["stops_met"],
        "stops": row["stops"],
        "worst_stop": row["worst_stop"],
        "headroom": row["worst_headroom"],
        "cost": cost,
        "alone_cost": cost,
        "retunes": None,
    }


def _ranked(document: Row, need: str) -> list[Row]:
    rows = [row for row in document["ranking"] or () if row["need"] == need]
    return sorted(rows, key=lambda row: row["rank"])


def _alone_cost(document: Row, row: Row) -> int | None:
    """Return how many carriers fewer than the choice's best range alone a range alone finds."""
    picked = picked_ranges(document).get(row["need"], [])
    stop = row["worst_stop"]
    mine = [
        other["headrooms"][stop]
        for other in _ranked(document, row["need"])
        if other["range"] in picked and stop in other.get("headrooms", {})
    ]
    return max(mine) - row["worst_headroom"] if mine and row["worst_headroom"] is not None else None


def _other_winners(document: Row) -> list[dict[str, Any]]:
    rows = _combinations(document)
    confirmed = {stop["id"] for stop in document["stops"] if stop.get("status") == "confirmed"}
    heads: list[Headrooms] = [row.get("headrooms") or {} for row in rows]
    if len(rows) < 2 or not all(heads) or _winner(heads, confirmed) != 0:
        return []
    found: list[dict[str, Any]] = []
    for stop in heads[0]:
        rest = [{name: mine for name, mine in each.items() if name != stop} for each in heads]
        if winner := _winner(rest, confirmed):
            text = f"without {stop}, {_named(rows[winner], rows[0])} would come first"
            found.append({"code": "drop-stop", "stop": stop, "text": text})
    for need in document["needs"]:
        spares = need["spares"]
        less = [_eased(each, need["name"], spares) for each in heads]
        if spares and (winner := _winner(less, confirmed)):
            named = _named(rows[winner], rows[0])
            text = f"without the {spares} spare frequencies of {need['name']}, {named} would come "
            found.append({"code": "fewer-spares", "stop": None, "text": text + "first"})
    return found


def _eased(heads: Headrooms, need: str, spares: int) -> Headrooms:
    return {
        stop: {name: head + spares if name == need else head for name, head in mine.items()}
        for stop, mine in heads.items()
    }


def _winner(heads: Sequence[Headrooms], confirmed: Iterable[str]) -> int:
    """Return which combination comes first by stops met and worst headroom; ties keep the order."""
    sure = set(confirmed)

    def merit(index: int) -> tuple[int, int, int, int]:
        met = {
            stop for stop, mine in heads[index].items() if all(head >= 0 for head in mine.values())
        }
        worst = min((head for mine in heads[index].values() for head in mine.values()), default=0)
        return len(met & sure), len(met), worst, -index

    return max(range(len(heads)), key=merit)


def _named(row: Row, first: Row) -> str:
    """Name a combination by what differs from the choice."""
    parts = [
        f"{' with '.join(keys)} for {need}"
        for need, keys in row["ranges"].items()
        if first["ranges"].get(need) != keys
    ]
    return " and ".join(parts) or "another combination"
