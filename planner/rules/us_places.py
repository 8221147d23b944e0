"""What a place in the United States does to single TV channels, besides the TV stations."""

from __future__ import annotations

import functools

import numpy as np

from planner.geodesy import inverse
from planner.rules.records import ChannelNote
from planner.tables import read_sidecar, read_table

_HAWAII_BOX = (18.0, 29.0, -179.0, -154.0)
"""South, north, west, east [deg] of the Hawaiian islands, wide (geography, no source)."""
_WAIVER_KM = 48.0
"""Mobiles range this far from their base [km] (47 CFR 90.305, from memory)."""
_CARIBBEAN_BOX = (17.0, 19.5, -68.5, -64.0)
"""South, north, west, east [deg] of Puerto Rico and the Virgin Islands (geography)."""
_HAWAII_CHANNEL = "17"


@functools.lru_cache(maxsize=4096)
def place_notes(lat_deg: float, lon_deg: float) -> tuple[ChannelNote, ...]:
    """Return land mobile areas, Hawaii's channel 17 and the Gulf offshore lines at a point.

    Parameters
    ----------
    lat_deg, lon_deg : float
        WGS84 [deg].
    """
    return (
        *_land_mobile(lat_deg, lon_deg),
        *_waivers(lat_deg, lon_deg),
        *_hawaii(lat_deg, lon_deg),
        *_gulf(lat_deg, lon_deg),
    )


def closed_spans(lat_deg: float, lon_deg: float) -> tuple[tuple[int, int, str], ...]:
    """Return spans closed to every use at a point besides TV channels, with the reason [Hz]."""
    south, north, west, east = _CARIBBEAN_BOX
    if not (south <= lat_deg <= north and west <= lon_deg <= east):
        return ()
    text = "161.625-161.775 MHz is not open in Puerto Rico and the Virgin Islands (74.802(a))"
    return ((161_625_000, 161_775_000, text),)


def _land_mobile(lat_deg: float, lon_deg: float) -> tuple[ChannelNote, ...]:
    table = read_table("us_land_mobile")
    centre_lat = np.array(table["center_lat_deg"], dtype=float)
    centre_lon = np.array(table["center_lon_deg"], dtype=float)
    distance, _, _ = inverse(lat_deg, lon_deg, centre_lat, centre_lon)
    found: dict[str, ChannelNote] = {}
    order = np.argsort(distance, kind="stable")
    for i in order:
        km = round(float(distance[i]), 2)
        if km > float(table["caution_km"][i]) or table["channel"][i] in found:
            continue
        inside = km <= float(table["radius_km"][i])
        radius = table["radius_km"][i] if inside else table["caution_km"][i]
        found[table["channel"][i]] = ChannelNote(
            label=table["channel"][i],
            kind="held" if inside else "caution",
            code="land-mobile" if inside else "land-mobile-near",
            text=(
                f"land mobile of {table['area'][i]}: {km:.1f} km from the centre, "
                f"{'held' if inside else 'caution'} to {radius} km ({table['note'][i]})"
            ),
            section=table["section"][i],
        )
    return tuple(found.values())


def _waivers(lat_deg: float, lon_deg: float) -> tuple[ChannelNote, ...]:
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
        if km > _WAIVER_KM or label in found:
            continue
        found[label] = ChannelNote(
            label=label,
            kind="faint",
            code="land-mobile-waiver",
            text=(
                f"land mobile under a waiver in {_county(table['county'][i])}: {km:.1f} km from "
                f"the site, looked at within {_WAIVER_KM:g} km; list of {issued}, licences change"
            ),
            section="47 CFR 90.303, waivers",
        )
    return tuple(found.values())


def _county(written: str) -> str:
    """Write ``"HUDSON NJ"`` as ``"Hudson NJ"``."""
    county, _, state = written.rpartition(" ")
    return f"{county.title()} {state}"


def _hawaii(lat_deg: float, lon_deg: float) -> tuple[ChannelNote, ...]:
    south, north, west, east = _HAWAII_BOX
    if not (south <= lat_deg <= north and west <= lon_deg <= east):
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


def _gulf(lat_deg: float, lon_deg: float) -> tuple[ChannelNote, ...]:
    """Return cautions south of the offshore radio lines; no rule gives microphones a figure."""
    table = read_table("us_gulf_offshore")
    notes = []
    for label in dict.fromkeys(table["channel"]):
        rows = [i for i, channel in enumerate(table["channel"]) if channel == label]
        lons = np.array([float(table["lon_deg"][i]) for i in rows])
        lats = np.array([float(table["lat_deg"][i]) for i in rows])
        ascending = np.argsort(lons)
        inside = lons.min() <= lon_deg <= lons.max()
        if inside and lat_deg < float(np.interp(lon_deg, lons[ascending], lats[ascending])):
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
