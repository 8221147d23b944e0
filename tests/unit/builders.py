"""Small invented records for unit tests."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import Any

import numpy as np

from planner.records import Coverage, GearRange, Need, Settings, StationTable, Stop, Tour
from planner.records.azimuths import AzimuthCurves

DATE = dt.date(2027, 3, 4)
FULL_US = Coverage(
    countries=("US",),
    services=("full", "class-a", "low-power", "translator", "booster"),
    low_hz=54_000_000,
    high_hz=608_000_000,
)
US_CHANNELS = {n: 470_000_000 + (n - 14) * 6_000_000 for n in range(14, 37)}


def stop(**more: Any) -> Stop:
    """Return a stop in the middle of nowhere, Kansas; indoor."""
    values: dict[str, Any] = {
        "id": "here",
        "place": "Here",
        "country": "US",
        "lat_deg": 39.0,
        "lon_deg": -99.0,
        "location_error_km": 0.1,
        "first_date": DATE,
        "last_date": DATE,
        "setting": "indoor",
    }
    return Stop(**{**values, **more})


def station(channel: int = 20, **more: Any) -> dict[str, Any]:
    """Return the columns of one invented UHF station."""
    low = US_CHANNELS[channel]
    return {
        "station_id": f"x-{channel}",
        "name": f"Invented {channel}",
        "country": "US",
        "service": "full",
        "system": "atsc1",
        "status": "on-air",
        "channel": str(channel),
        "low_hz": low,
        "high_hz": low + 6_000_000,
        "lat_deg": 39.0,
        "lon_deg": -99.0,
        "erp_kw": 100.0,
        "haat_m": 300.0,
        **more,
    }


def stations(
    rows: list[dict[str, Any]],
    coverages: tuple[Coverage, ...] = (FULL_US,),
    *,
    patterns: dict[str, list[tuple[float, float]]] | None = None,
    haats: dict[str, list[tuple[float, float]]] | None = None,
) -> StationTable:
    """Return a station table of rows made by :func:`station`.

    ``patterns`` are (azimuth, relative field) points by pattern name, ``haats`` (azimuth, height)
    points by station id.
    """
    patterns, haats = patterns or {}, haats or {}
    columns: dict[str, Any] = {}
    for field in dataclasses.fields(StationTable):
        if field.name in (
            *("files", "coverages", "patterns", "pattern_curve", "radial_haats", "haat_curve"),
            *("grids", "grounds", "ground_curve"),
        ):
            continue
        values = [row.get(field.name) for row in rows]
        if field.name in ("low_hz", "high_hz", "table"):
            columns[field.name] = np.array([v or 0 for v in values], dtype=np.int64)
        elif field.name in ("valid_from", "valid_to"):
            columns[field.name] = np.array([v or "NaT" for v in values], dtype="datetime64[D]")
        elif field.name.endswith(("_m", "_deg", "_kw")):
            default = 0.0 if field.name == "pattern_rotation_deg" else np.nan
            columns[field.name] = np.array(
                [default if v is None else v for v in values], dtype=float
            )
        else:
            columns[field.name] = np.array([v or "" for v in values], dtype=np.str_)
    files = tuple(f"table-{i}.csv" for i in range(len(coverages)))
    curves: dict[str, Any] = {
        "patterns": AzimuthCurves.of(patterns.values()),
        "pattern_curve": [[*patterns, name].index(name) for name in columns["pattern"]],
        "radial_haats": AzimuthCurves.of(haats.values()),
        "haat_curve": [[*haats, name].index(name) for name in columns["station_id"]],
    }
    for name, known in (("pattern_curve", patterns), ("haat_curve", haats)):
        places = np.array(curves[name], dtype=np.int64)
        curves[name] = np.where(places < len(known), places, -1)
    return StationTable(**columns, **curves, files=files, coverages=coverages)


def gear(**more: Any) -> GearRange:
    """Return an invented microphone range over the whole of UHF TV."""
    values: dict[str, Any] = {
        "family": "Alder",
        "role": "mic",
        "low_hz": 470_100_000,
        "high_hz": 607_900_000,
        "tuning_origin_hz": 470_100_000,
        "step_hz": 25_000,
        "bandwidth_hz": 200_000,
        "spacing_hz": 350_000,
        "guard_2a_b_hz": 100_000,
        "guard_a_b_c_hz": 100_000,
        "powers_mw": (10.0, 50.0),
    }
    return GearRange(**{**values, **more})


def need(**more: Any) -> Need:
    """Return a need of two microphones and a spare."""
    values: dict[str, Any] = {
        "name": "vocals",
        "role": "mic",
        "lines": ("Lead", "Guitar"),
        "count": 2,
        "spares": 1,
    }
    return Need(**{**values, **more})


def tour(stops: list[Stop], needs: list[Need], **more: Any) -> Tour:
    """Return a tour of these stops and needs."""
    values: dict[str, Any] = {
        "name": "Invented",
        "station_tables": ("table-0.csv",),
        "gear_file": "gear.csv",
        "settings": Settings(),
        "stops": tuple(stops),
        "needs": tuple(needs),
    }
    return Tour(**{**values, **more})


def nobody_near(lat_deg: float, lon_deg: float, radius_km: float) -> dict[str, float]:
    """Stand in for the gazetteer where no foreign country is near."""
    del lat_deg, lon_deg, radius_km
    return {"US": 1.0}
