"""Tolerant reading of a plan as ``json.load`` gives it: lists, look-ups and joins, no results."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from planner.report.words import AIR_WORDS, clean, town
from planner.units import mhz_to_hz

Plan = Mapping[str, Any]
"""A plan.json, or one of its objects, as plain data."""


def rows(source: Plan, key: str) -> list[Any]:
    """Return a list of the plan; null and a missing key are an empty list."""
    return list(source.get(key) or ())


def table(source: Plan, key: str) -> Plan:
    """Return an object of the plan; null and a missing key are an empty object."""
    found = source.get(key)
    return found if isinstance(found, Mapping) else {}


def playing_stops(plan: Plan) -> list[Plan]:
    """Return the stops that are not cancelled, in route order."""
    return [stop for stop in rows(plan, "stops") if stop.get("status") != "cancelled"]


def stop_of(plan: Plan, stop_id: str) -> Plan:
    """Return a stop by its id.

    Raises
    ------
    KeyError
        When the plan has no such stop.
    """
    for stop in rows(plan, "stops"):
        if stop["id"] == stop_id:
            found: Plan = stop
            return found
    raise KeyError(stop_id)


def place_of(plan: Plan, stop_id: str | None) -> str:
    """Return a stop's town for people, with its id where the route comes there more than once.

    The id itself stands where the plan has no such stop.
    """
    if stop_id is None:
        return ""
    towns = {stop["id"]: town(stop["place"]) for stop in rows(plan, "stops")}
    name = towns.get(stop_id)
    if name is None:
        return clean(stop_id)
    alone = list(towns.values()).count(name) == 1
    return name if alone else f"{name} ({clean(stop_id)})"


def unit_of(plan: Plan) -> str:
    """Return the unit in which distances print: ``"km"`` or ``"mi"``."""
    return "mi" if table(plan, "tour").get("distances") == "mi" else "km"


def reason_text(reason: Any) -> str:  # noqa: ANN401 - a reason object or a bare sentence
    """Return the sentence of a reason."""
    return clean(reason["text"] if isinstance(reason, Mapping) else reason)


def needs_at(plan: Plan, stop_id: str) -> list[Plan]:
    """Return the needs that apply at a stop; none when the plan does not list needs."""
    return [
        need for need in rows(plan, "needs") if not need.get("stops") or stop_id in need["stops"]
    ]


def chosen_ranges(plan: Plan, need: str) -> list[str]:
    """Return the ranges chosen for a need: the plan's choice, else the first in the ranking."""
    choice = table(plan, "choice").get(need)
    if isinstance(choice, str):
        return [choice]
    if choice:
        return [str(key) for key in choice]
    ranked = [row for row in rows(plan, "ranking") if row["need"] == need and row["rank"] == 1]
    return [str(row["range"]) for row in ranked[:1]]


def need_names(plan: Plan) -> list[str]:
    """Return the names of all needs: as listed, then as ranked, then as carried."""
    names = [need["name"] for need in rows(plan, "needs")]
    names += [row["need"] for row in rows(plan, "ranking")]
    for stop in rows(plan, "stops"):
        names += [carrier["need"] for carrier in rows(stop, "carriers") if carrier["need"]]
    return list(dict.fromkeys(names))


def occupied_hz(carrier: Plan) -> tuple[int, int]:
    """Return the edges of a carrier's occupied bandwidth [Hz]."""
    centre_hz = mhz_to_hz(carrier["frequency_mhz"])
    half_hz = int(float(carrier["bandwidth_khz"]) * 500)
    return centre_hz - half_hz, centre_hz + half_hz


def air_of(stop: Plan, carrier: Plan) -> str:
    """Return the word for the air under a carrier, the most serious of the spans it touches.

    A carrier's own ``air`` goes first; empty when no span of the stop holds the carrier.
    """
    if carrier.get("air"):
        return str(carrier["air"])
    low_hz, high_hz = occupied_hz(carrier)
    touched = {
        span["air"]
        for span in rows(stop, "spans")
        if mhz_to_hz(span["low_mhz"]) < high_hz and low_hz < mhz_to_hz(span["high_mhz"])
    }
    return next((word for word in AIR_WORDS if word in touched), "")


def names_stop(where: str, stop_id: str) -> bool:
    """Say whether a warning's place names a stop: its id as a whole word."""
    return re.search(rf"(?<![\w-]){re.escape(stop_id)}(?![\w-])", where) is not None


def merged(
    parts: Iterable[Plan], keys: Sequence[str]
) -> Iterator[tuple[float, float, tuple[Any, ...]]]:
    """Join touching spans that agree in ``keys``; give low and high [MHz] and the values."""
    current: tuple[float, float, tuple[Any, ...]] | None = None
    for part in sorted(parts, key=lambda span: (span["low_mhz"], span["high_mhz"])):
        values = tuple(part.get(key) for key in keys)
        if current and current[2] == values and part["low_mhz"] <= current[1]:
            current = (current[0], max(current[1], part["high_mhz"]), values)
            continue
        if current:
            yield current
        current = (part["low_mhz"], part["high_mhz"], values)
    if current:
        yield current
