"""The kinds of value that a plan must hold before two plans are compared."""

from __future__ import annotations

from typing import Any

TEXT = "text"
NUMBER = "number"
WORD = "text or nothing"
FLAG = "true or false"
ANY_KEYS = "*"

_REASONS = [{"code": TEXT, "text": TEXT}]
_LIMITS = {"low_mhz": NUMBER, "high_mhz": NUMBER}
_RANKED = {"rank": NUMBER}
PLAN_SHAPE: dict[str, Any] = {
    "made": {},
    "inputs": [{"file": TEXT}],
    "?tour": {"?settings": {}, "?licences": [{}]},
    "?transmitters": {ANY_KEYS: {}},
    "?ranking": [{"need": TEXT, "range": TEXT, **_RANKED}],
    "?combinations": [{"ranges": {}, **_RANKED}],
    "?needs": [{"name": TEXT}],
    "?choice": {},
    "?owned": [{}],
    "?warnings": [{}],
    "?cautions": [TEXT],
    "stops": [
        {
            "id": TEXT,
            "country": TEXT,
            "lat_deg": NUMBER,
            "lon_deg": NUMBER,
            "?place": WORD,
            "?spans": [{**_LIMITS, "?reasons": _REASONS}],
            "?channels": [{"?reasons": _REASONS}],
            "?ranges": {
                ANY_KEYS: {"?windows_mhz": [[NUMBER]], "?faint_windows_mhz": [[NUMBER]]},
            },
            "?licences": [{}],
            "?others": [{}],
            "?cleared": [{}],
            "?assignments": [{}],
            "carriers": [
                {"name": TEXT, "need": WORD, "range": WORD, "frequency_mhz": NUMBER}
                | {"retuned": FLAG},
            ],
            "?short": [{"need": TEXT, "missing": NUMBER}],
        }
    ],
}
"""Objects hold at least these keys; those that begin with ``?`` may be missing or null."""


def misfit(value: object, shape: object, where: str = "") -> str:
    """Return the first place where a value is of another kind than its shape, else an empty text.

    Parameters
    ----------
    value : object
        Plain value as JSON gives it.
    shape : dict, list or str
        As :data:`PLAN_SHAPE`.
    where : str
        Where the value stands, for the answer.
    """
    if isinstance(shape, dict):
        return _object_misfit(value, shape, where)
    if isinstance(shape, list):
        if not isinstance(value, list):
            return where
        places = (misfit(row, shape[0], f"{where}[{i}]") for i, row in enumerate(value))
        return next((place for place in places if place), "")
    return "" if _is(value, str(shape)) else where


def _object_misfit(value: object, shape: dict[str, Any], where: str) -> str:
    if not isinstance(value, dict):
        return where or "the whole file"
    for key, inner in shape.items():
        if key == ANY_KEYS:
            places = (misfit(row, inner, f"{where}.{name}") for name, row in value.items())
            wrong = next((place for place in places if place), "")
        else:
            name = key.removeprefix("?")
            here = f"{where}.{name}" if where else name
            found = value.get(name)
            if found is None and key != name:
                continue
            wrong = misfit(found, inner, here)
        if wrong:
            return wrong
    return ""


def _is(value: object, kind: str) -> bool:
    if kind == NUMBER:
        return isinstance(value, int | float) and not isinstance(value, bool)
    if kind == FLAG:
        return isinstance(value, bool)
    return isinstance(value, str) or (kind == WORD and value is None)
