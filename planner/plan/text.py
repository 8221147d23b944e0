"""The text of plan.json: one line an item of the lists and tables at the top."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

_ENCODER = json.JSONEncoder(ensure_ascii=False, allow_nan=False, check_circular=False)
"""A plan is a tree: nothing in it holds itself."""


def plan_text(document: Mapping[str, Any]) -> str:
    """Return a plan document as JSON text.

    Items of top-level lists and objects stand on lines of their own, so that two plans can be
    compared line by line; inside a line the text is compact, which keeps large plans small.

    Parameters
    ----------
    document : mapping
        The plan.
    """
    parts = []
    for key, value in document.items():
        name = _compact(key)
        if isinstance(value, list) and value:
            items = ",\n  ".join(_compact(item) for item in value)
            parts.append(f"{name}: [\n  {items}\n ]")
        elif isinstance(value, dict) and value:
            items = ",\n  ".join(f"{_compact(k)}: {_compact(v)}" for k, v in value.items())
            parts.append(f"{name}: {{\n  {items}\n }}")
        else:
            parts.append(f"{name}: {_compact(value)}")
    return "{\n " + ",\n ".join(parts) + "\n}\n"


def _compact(value: object) -> str:
    return _ENCODER.encode(value)
