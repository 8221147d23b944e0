"""What an earlier plan set, matched to the stops of this one."""

from __future__ import annotations

import dataclasses
from collections import Counter
from typing import TYPE_CHECKING, Any

from planner.coordination.names import Use
from planner.records.gear import RETURN
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from planner.records import Stop

_PLACE_DEG = 1e-4
"""Coordinates that agree to this are one place [deg]."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Previous:
    """An earlier plan document to follow.

    Attributes
    ----------
    document : mapping
        The plan.
    unchanged : bool
        True when the same version made it from the very same inputs: its carriers are taken
        over as they are.
    """

    document: Mapping[str, Any]
    unchanged: bool = False


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class KeptStop:
    """What an earlier plan set at a stop.

    Attributes
    ----------
    carriers : mapping of (need, line) to Use
        Carriers that are ours to choose.
    missing : mapping of str to int
        What it said was missing, by need.
    stand_ins : mapping of (need, line) to Use
        Spares that are never on beside all others.
    """

    carriers: Mapping[tuple[str, str], Use]
    missing: Mapping[str, int]
    stand_ins: Mapping[tuple[str, str], Use] = dataclasses.field(default_factory=dict)

    def accounts_for(self, wanted: Mapping[str, int]) -> bool:
        """Say whether carriers and shortage together are all that the needs want, by need."""
        found = Counter(need for need, _ in (*self.carriers, *self.stand_ins))
        return all(
            found[need] + self.missing.get(need.removesuffix(RETURN), 0) == count
            for need, count in wanted.items()
        )


def kept_stops(previous: Mapping[str, Any], stops: Sequence[Stop]) -> dict[str, KeptStop]:
    """Return, by stop id of the new tour, what the earlier plan set there.

    Parameters
    ----------
    previous : mapping
        An earlier plan document.
    stops : sequence of Stop
        Stops of the new tour, in route order.

    Notes
    -----
    A stop is the same when country and coordinates (to 1e-4 deg) agree, n-th visit to n-th
    visit, whatever its date.
    """
    facts = [
        {"country": stop.country, "lat_deg": stop.lat_deg, "lon_deg": stop.lon_deg}
        for stop in stops
    ]
    found = {}
    for stop, index in zip(stops, matched_rows(previous["stops"], facts), strict=True):
        if index < 0:
            continue
        before = previous["stops"][index]
        ours = [row for row in before["carriers"] if not (row["fixed"] or row["other"])]
        found[stop.id] = KeptStop(
            carriers=_uses(row for row in ours if row["spare_grade"] != "stand-in"),
            missing={
                row["need"]: row.get("missing_blocks", row["missing"]) for row in before["short"]
            },
            stand_ins=_uses(row for row in ours if row["spare_grade"] == "stand-in"),
        )
    return found


def _uses(rows: Iterable[Mapping[str, Any]]) -> dict[tuple[str, str], Use]:
    """Return carriers of a plan by need and line."""
    return {
        (row["need"] + _way(row), row.get("block") or row["name"]): Use(
            range_key=row["range"] + _way(row),
            frequency_hz=mhz_to_hz(row["frequency_mhz"]),
            power_mw=row["power_mw"],
        )
        for row in rows
    }


def _way(row: Mapping[str, Any]) -> str:
    """Return what the names of a carrier's need and range end with inside."""
    return RETURN if row.get("direction") == "return" else ""


def matched_rows(
    earlier: Sequence[Mapping[str, Any]], later: Sequence[Mapping[str, Any]]
) -> list[int]:
    """Return, for each later stop, which earlier one is the same; -1 where none is.

    Parameters
    ----------
    earlier, later : sequence of mapping
        Stops in route order with ``country``, ``lat_deg`` and ``lon_deg``: the same when the
        country agrees and the coordinates do to 1e-4 deg, n-th visit to n-th visit.
    """
    waiting = list(range(len(earlier)))
    found = []
    for row in later:
        index = next((i for i in waiting if _same_place(earlier[i], row)), -1)
        if index >= 0:
            waiting.remove(index)
        found.append(index)
    return found


def _same_place(before: Mapping[str, Any], after: Mapping[str, Any]) -> bool:
    return bool(
        before["country"] == after["country"]
        and abs(before["lat_deg"] - after["lat_deg"]) <= _PLACE_DEG
        and abs(before["lon_deg"] - after["lon_deg"]) <= _PLACE_DEG
    )
