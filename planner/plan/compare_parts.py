"""Differences of plain values: objects key by key, tables row by row, lists item by item."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

CAME, GONE, CHANGED = "came", "gone", "changed"


def changed_keys(
    old: Mapping[str, Any], new: Mapping[str, Any], *, only: Iterable[str] | None = None
) -> list[dict[str, Any]]:
    """Return the keys whose values differ, each with both; a missing key is None.

    Parameters
    ----------
    old, new : mapping
        Plain objects.
    only : iterable of str, optional
        Keys looked at; all by default.
    """
    keys = dict.fromkeys((*old, *new) if only is None else only)
    return [
        {"key": key, "old": old.get(key), "new": new.get(key)}
        for key in keys
        if old.get(key) != new.get(key)
    ]


def keyed_changes(
    old: Mapping[str, Mapping[str, Any]], new: Mapping[str, Mapping[str, Any]], name: str
) -> list[dict[str, Any]]:
    """Return what came, went and changed in a table of objects.

    Parameters
    ----------
    old, new : mapping
        Objects by their key.
    name : str
        What the key is called in each row returned. Long lists among the values (outlines) are
        told by name only.
    """
    found: list[dict[str, Any]] = []
    for key in dict.fromkeys((*old, *new)):
        if key not in new:
            found.append({name: key, "change": GONE, "row": _short(old[key]), "facts": []})
        elif key not in old:
            found.append({name: key, "change": CAME, "row": _short(new[key]), "facts": []})
        elif old[key] != new[key]:
            before, after = old[key], new[key]
            if before.get("contours", after) is None or after.get("contours", before) is None:
                # contours are written only where a stop is near: none is no change of the station
                before, after = _short(before), _short(after)
            facts = changed_keys(before, after)
            if not facts:
                continue
            for fact in facts:
                if fact["key"] == "contours":
                    fact |= {"old": None, "new": None}
            found.append({name: key, "change": CHANGED, "row": _short(new[key]), "facts": facts})
    return found


def list_changes(old: Mapping[str, Any], new: Mapping[str, Any], key: str) -> list[dict[str, Any]]:
    """Return the items that one of two lists under a key has and the other has not.

    Equal items are matched one to one; a changed order alone is no change.
    """
    waiting = list(old.get(key) or ())
    came = []
    for row in new.get(key) or ():
        if row in waiting:
            waiting.remove(row)
        else:
            came.append({"change": CAME, "row": row})
    return [*({"change": GONE, "row": row} for row in waiting), *came]


def _short(row: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key != "contours"}
