"""What a mapped table as a whole says: where it lies, and what it claims to hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.faults import counted
from planner.intake.stations.coordinates import in_united_states
from planner.records import Coverage
from planner.rules import has_own_module, tv_raster
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.intake.stations.mapping import ColumnMapping

_AMERICAS = ("US", "CA", "MX", "BR", "AR", "CL", "CO", "PE")
"""Countries that lie west of Greenwich, Pacific territories of the United States apart."""


def require_west(rows: Sequence[Mapping[str, str]], mapping: ColumnMapping, *, file: str) -> None:
    """Refuse a table of the Americas that lies in the eastern hemisphere: ask, never guess.

    Raises
    ------
    InputFaults
        When no station of the Americas lies west of Greenwich.
    """
    american = [cells for cells in rows if cells["country"] in _AMERICAS]
    if not american or any(float(cells["lon_deg"]) < 0 for cells in american):
        return
    points = [(float(cells["lat_deg"]), float(cells["lon_deg"])) for cells in american]
    if all(in_united_states(lat_deg, lon_deg) for lat_deg, lon_deg in points):
        return  # the Pacific territories lie east
    advice = "take --west-positive away" if mapping.west_positive else "give --west-positive"
    fault = Fault(
        file=file,
        where=f"column {mapping.columns['lon_deg']}",
        value=f"{counted(len(points), 'station')} of the Americas, none west of Greenwich",
        allowed="east-positive longitudes",
        advice=f"{advice} when the table counts longitudes westwards",
    )
    raise InputFaults([fault])


def claimed_coverage(rows: Sequence[Mapping[str, str]], mapping: ColumnMapping) -> Coverage | None:
    """Return the coverage that the user claims for a table, None without a claim."""
    if not mapping.covers:
        return None
    countries = sorted({cells["country"] for cells in rows})
    raster_of = mapping.raster or next((code for code in countries if has_own_module(code)), "")
    if raster_of:
        open_channels = [row for row in tv_raster(raster_of) if not row.closed]
        low_hz = min(row.low_hz for row in open_channels)
        high_hz = max(row.high_hz for row in open_channels)
    else:
        low_hz = min(mhz_to_hz(cells["low_mhz"]) for cells in rows)
        high_hz = max(mhz_to_hz(cells["high_mhz"]) for cells in rows)
    return Coverage(
        countries=tuple(countries),
        services=mapping.covers,
        systems=tuple(sorted({cells["system"] for cells in rows if cells.get("system")})),
        low_hz=low_hz,
        high_hz=high_hz,
        issued=mapping.issued,
        missing_note=mapping.missing_note,
    )
