"""How many pieces of gear the chosen ranges ask for: channels, packs, chassis, less what is owned.

A line takes one channel in the rack (a receiver, or the transmitter of an in-ear mix) and
``units_per_line`` carried pieces that follow its carrier (packs, hand-helds): one main piece a
line, the rest spare pieces. A spare frequency is none of these: a line in trouble is retuned to
it, so it needs no hardware of its own (common practice, no source). Only where spares are to
stand tuned and ready does each take one channel more; that count stands apart.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING, Any

from planner.units import hz_to_mhz, mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.records import GearRange, Need, Tour


def fewest_chassis(frequencies_hz: Sequence[int], *, channels: int, span_hz: int | None) -> int:
    """Return the fewest receiver chassis that hold a set of carriers.

    Parameters
    ----------
    frequencies_hz : sequence of int
        Carrier centres [Hz], in any order.
    channels : int
        Channels of one chassis, at least 1.
    span_hz : int or None
        Widest distance between two centres in one chassis [Hz]; None where it does not matter.

    Notes
    -----
    Each chassis is filled from the lowest carrier still without one. No filling needs fewer:
    the lowest carrier must stand somewhere, and taking the next ones with it leaves the others
    no worse off.
    """
    count = held = 0
    first_hz = 0
    for frequency_hz in sorted(frequencies_hz):
        full = held == channels or (span_hz is not None and frequency_hz - first_hz > span_hz)
        if not count or full:
            count, held, first_hz = count + 1, 0, frequency_hz
        held += 1
    return count


class Store:
    """What is owned and what is in stock, handed out need by need in the order of the tour."""

    def __init__(self, tour: Tour, gear: Sequence[GearRange]) -> None:
        self._owned: dict[str, list[int]] = {}
        for row in tour.owned:
            kept = self._owned.setdefault(row.range_key, [0, 0])
            kept[0] += row.receivers
            kept[1] += row.transmitters
        self._stock = {row.key: row.available for row in gear}

    def take_owned(self, key: str, *, channels: int, carried: int) -> tuple[int, int]:
        """Take owned channels and carried pieces of a range; return how many there were."""
        kept = self._owned.get(key, [0, 0])
        taken = min(channels, kept[0]), min(carried, kept[1])
        kept[0] -= taken[0]
        kept[1] -= taken[1]
        return taken

    def take_stock(self, key: str, pieces: int) -> int | None:
        """Take pieces from stock; return what was in stock for this use, None when not known."""
        stock = self._stock.get(key)
        if stock is not None:
            self._stock[key] = max(0, stock - pieces)
        return stock

    def left_over(self) -> list[dict[str, Any]]:
        """Return owned gear that the plan does not use."""
        return [
            {"range": key, "receivers": channels, "transmitters": carried}
            for key, (channels, carried) in self._owned.items()
            if channels or carried
        ]


def needed_range(
    need: Need, gear: GearRange, store: Store, *, document: Mapping[str, Any], alone: bool
) -> dict[str, Any]:
    """Return what one need takes of one chosen range.

    Parameters
    ----------
    need, gear : Need, GearRange
        The need and the catalogue row.
    store : Store
        What is owned and in stock; what this need takes is taken out.
    document : mapping
        The plan, with its carriers.
    alone : bool
        Whether the need has only this range: then every line is counted, else the most lines
        that stand in it at any one stop.
    """
    used = carriers_of(document, need.name, gear.key)
    at_stops = [[row for row in rows if not row["spare"]] for rows in used.values()]
    most = max(map(len, at_stops), default=0)
    lines = need.count if alone else most
    spares = max((sum(bool(row["spare"]) for row in rows) for rows in used.values()), default=0)
    carried = lines * need.units_per_line
    owned_channels, owned_carried = store.take_owned(gear.key, channels=lines, carried=carried)
    get_channels, get_carried = lines - owned_channels, carried - owned_carried
    stock = store.take_stock(gear.key, max(get_channels, get_carried))
    every = [row for rows in used.values() for row in rows]
    return {
        "range": gear.key,
        "low_mhz": hz_to_mhz(gear.low_hz),
        "high_mhz": hz_to_mhz(gear.high_hz),
        "used_low_mhz": min((row["frequency_mhz"] for row in every), default=None),
        "used_high_mhz": max((row["frequency_mhz"] for row in every), default=None),
        "lines": lines,
        "spare_frequencies": need.spares if alone else spares,
        "channels": {"wanted": lines, "owned": owned_channels, "get": get_channels},
        "carried": {
            "main": lines,
            "spare": carried - lines,
            "wanted": carried,
            "owned": owned_carried,
            "get": get_carried,
        },
        "chassis": _chassis(gear, at_stops, lines=lines, owned=owned_channels),
        "available": stock,
        "suffices": None if stock is None else stock >= max(get_channels, get_carried),
        "status": gear.status,
        "note": gear.note or None,
        "powers": _powers(used),
        "transmitter_span_mhz": (
            None if gear.transmitter_span_hz is None else hz_to_mhz(gear.transmitter_span_hz)
        ),
        "widest_line_mhz": _widest_line_mhz(document, used),
    }


def carriers_of(
    document: Mapping[str, Any], need: str, key: str
) -> dict[str, list[Mapping[str, Any]]]:
    """Return the carriers of a need in a range by stop id, stops without any included."""
    return {
        stop["id"]: [
            row
            for row in stop["carriers"]
            if row["need"] == need and row["range"] == key and row.get("direction") != "return"
        ]
        for stop in document["stops"]
    }


def _chassis(
    gear: GearRange, at_stops: Sequence[Sequence[Mapping[str, Any]]], *, lines: int, owned: int
) -> dict[str, Any] | None:
    """Return the chassis for the hardest stop; None when the catalogue does not say."""
    if not gear.chassis_channels:
        return None
    channels = gear.chassis_channels
    packed = [
        fewest_chassis(
            [mhz_to_hz(row["frequency_mhz"]) for row in rows],
            channels=channels,
            span_hz=gear.chassis_span_hz,
        )
        for rows in at_stops
    ]
    wanted = max([math.ceil(lines / channels), *packed])
    span_hz = gear.chassis_span_hz
    return {
        "channels": channels,
        "span_mhz": None if span_hz is None else hz_to_mhz(span_hz),
        "wanted": wanted,
        "get": max(0, wanted - owned // channels),
    }


def _powers(used: Mapping[str, Sequence[Mapping[str, Any]]]) -> list[dict[str, Any]]:
    """Return the power settings the route needs, with the stops that need each."""
    found: dict[tuple[float, str], list[str]] = {}
    for stop, rows in used.items():
        for row in rows:
            if row["power_mw"] is None:
                continue
            stops = found.setdefault((float(row["power_mw"]), str(row["power_kind"])), [])
            if stop not in stops:
                stops.append(stop)
    return [
        {"power_mw": power, "power_kind": kind, "stops": stops}
        for (power, kind), stops in sorted(found.items())
    ]


def _widest_line_mhz(
    document: Mapping[str, Any], used: Mapping[str, Sequence[Mapping[str, Any]]]
) -> float | None:
    """Return how far the frequencies of one line of one rig lie apart at most [MHz]."""
    rigs = {stop["id"]: stop["rig"] for stop in document["stops"]}
    seen = sorted(
        (rigs[stop], row["name"], mhz_to_hz(row["frequency_mhz"]))
        for stop, rows in used.items()
        for row in rows
        if not row["spare"]
    )
    widths = []
    for _, group in itertools.groupby(seen, key=lambda item: item[:2]):
        tuned_hz = [item[2] for item in group]
        widths.append(tuned_hz[-1] - tuned_hz[0])
    return hz_to_mhz(max(widths)) if widths else None
