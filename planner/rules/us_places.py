"""What a place in the United States does to single TV channels, besides the TV stations."""

from __future__ import annotations

import functools
import math

import numpy as np

from planner.geodesy import SEMI_MAJOR_AXIS_KM, inverse
from planner.rules.records import ChannelNote
from planner.tables import read_sidecar, read_table

_HAWAII_BOX = (18.0, 29.0, -179.0, -154.0)
"""South, north, west, east [deg] of the Hawaiian islands, wide (geography, no source)."""
_WAIVER_KM = 48.0
"""Mobiles range this far from their base [km] (47 CFR 90.305, from memory)."""
_CARIBBEAN_BOX = (17.0, 19.5, -68.5, -64.0)
"""South, north, west, east [deg] of Puerto Rico and the Virgin Islands (geography)."""
_HAWAII_CHANNEL = "17"
_POLAR_CURVE = 0.993
"""Least radius of curvature of WGS84 (along the meridian at the equator) over its major axis."""


@functools.lru_cache(maxsize=4096)
def place_notes(
    lat_deg: float, lon_deg: float, *, within_km: float = 0.0
) -> tuple[ChannelNote, ...]:
    """Return land mobile areas, Hawaii's channel 17 and the Gulf offshore lines at a place.

    Parameters
    ----------
    lat_deg, lon_deg : float
        WGS84 [deg].
    within_km : float
        Place error [km], 0 or more: what holds anywhere within it is told. Distances in the
        text are those of the point.
    """
    return (
        *_land_mobile(lat_deg, lon_deg, within_km),
        *_waivers(lat_deg, lon_deg, within_km),
        *_hawaii(lat_deg, lon_deg, within_km),
        *_gulf(lat_deg, lon_deg, within_km),
    )


def closed_spans(
    lat_deg: float, lon_deg: float, *, within_km: float = 0.0
) -> tuple[tuple[int, int, str], ...]:
    """Return spans closed to every use at a place besides TV channels, with the reason [Hz]."""
    if not _in_box(lat_deg, lon_deg, _CARIBBEAN_BOX, within_km):
        return ()
    text = "161.625-161.775 MHz is not open in Puerto Rico and the Virgin Islands (74.802(a))"
    return ((161_625_000, 161_775_000, text),)


def _in_box(
    lat_deg: float, lon_deg: float, box: tuple[float, float, float, float], within_km: float
) -> bool:
    """Say whether a box of latitude and longitude has a point within a radius of a place."""
    south, north, west, east = box
    north_deg = _degrees(within_km)
    east_deg = north_deg / max(math.cos(math.radians(lat_deg)), 1e-6)
    return (
        south - north_deg <= lat_deg <= north + north_deg
        and west - east_deg <= lon_deg <= east + east_deg
    )


def _degrees(distance_km: float) -> float:
    """Return a distance as degrees of latitude, never too few: on a sphere of the polar radius."""
    return math.degrees(distance_km / (SEMI_MAJOR_AXIS_KM * _POLAR_CURVE))


def _reached(at_point: bool, within_km: float) -> str:  # noqa: FBT001 - one word of a sentence
    return "" if at_point else f", reached within the place error of {within_km:g} km"


def _land_mobile(lat_deg: float, lon_deg: float, within_km: float) -> tuple[ChannelNote, ...]:
    table = read_table("us_land_mobile")
    centre_lat = np.array(table["center_lat_deg"], dtype=float)
    centre_lon = np.array(table["center_lon_deg"], dtype=float)
    distance, _, _ = inverse(lat_deg, lon_deg, centre_lat, centre_lon)
    found: dict[str, ChannelNote] = {}
    order = np.argsort(distance, kind="stable")
    for i in order:
        km = round(float(distance[i]), 2)
        nearest_km = round(km - within_km, 2)
        if nearest_km > float(table["caution_km"][i]) or table["channel"][i] in found:
            continue
        inside = nearest_km <= float(table["radius_km"][i])
        radius = table["radius_km"][i] if inside else table["caution_km"][i]
        error = _reached(km <= float(radius), within_km)
        found[table["channel"][i]] = ChannelNote(
            label=table["channel"][i],
            kind="held" if inside else "caution",
            code="land-mobile" if inside else "land-mobile-near",
            text=(
                f"land mobile of {table['area'][i]}: {km:.1f} km from the centre, "
                f"{'held' if inside else 'caution'} to {radius} km{error} "
                f"({table['note'][i]})"
            ),
            section=table["section"][i],
        )
    return tuple(found.values())


def _waivers(lat_deg: float, lon_deg: float, within_km: float) -> tuple[ChannelNote, ...]:
    """Return channels that land mobile uses under a waiver within 48 km."""
    table = read_table("us_land_mobile_waivers")
    issued = read_sidecar("us_land_mobile_waivers")["edition"]
    site_lat = np.array(table["lat_deg"], dtype=float)
    site_lon = np.array(table["lon_deg"], dtype=float)
    distance, _, _ = inverse(lat_deg, lon_deg, site_lat, site_lon)
    found: dict[str, ChannelNote] = {}
    for i in np.argsort(distance, kind="stable"):
        km = round(float(distance[i]), 2)
        label = table["channel"][i]
        if round(km - within_km, 2) > _WAIVER_KM or label in found:
            continue
        error = _reached(km <= _WAIVER_KM, within_km)
        found[label] = ChannelNote(
            label=label,
            kind="faint",
            code="land-mobile-waiver",
            text=(
                f"land mobile under a waiver in {_county(table['county'][i])}: {km:.1f} km from "
                f"the site, looked at within {_WAIVER_KM:g} km{error}; list of {issued}, "
                "licences change"
            ),
            section="47 CFR 90.303, waivers",
        )
    return tuple(found.values())


def _county(written: str) -> str:
    """Write ``"HUDSON NJ"`` as ``"Hudson NJ"``."""
    county, _, state = written.rpartition(" ")
    return f"{county.title()} {state}"


def _hawaii(lat_deg: float, lon_deg: float, within_km: float) -> tuple[ChannelNote, ...]:
    if not _in_box(lat_deg, lon_deg, _HAWAII_BOX, within_km):
        return ()
    return (
        ChannelNote(
            label=_HAWAII_CHANNEL,
            kind="closed",
            code="hawaii-17",
            text="488-494 MHz is not a broadcast channel in Hawaii and not open to microphones",
            section="47 CFR 73.603(d), 74.802(a)",
        ),
    )


def _gulf(lat_deg: float, lon_deg: float, within_km: float) -> tuple[ChannelNote, ...]:
    """Return cautions south of the offshore radio lines; no rule gives microphones a figure."""
    table = read_table("us_gulf_offshore")
    notes = []
    for label in dict.fromkeys(table["channel"]):
        rows = [i for i, channel in enumerate(table["channel"]) if channel == label]
        lons = np.array([float(table["lon_deg"][i]) for i in rows])
        lats = np.array([float(table["lat_deg"][i]) for i in rows])
        ascending = np.argsort(lons)
        inside = lons.min() <= lon_deg <= lons.max()
        line_deg = float(np.interp(lon_deg, lons[ascending], lats[ascending]))
        if inside and lat_deg - _degrees(within_km) < line_deg:
            notes.append(
                ChannelNote(
                    label=label,
                    kind="caution",
                    code="gulf-offshore",
                    text="offshore radio of the Gulf of Mexico may use this channel",
                    section="47 CFR 74.709(e)",
                )
            )
    return tuple(notes)
