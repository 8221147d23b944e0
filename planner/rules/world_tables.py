"""The shipped tables of the world's rules, read once: permissions, rasters, countries."""

from __future__ import annotations

import dataclasses
import datetime as dt
import functools

from planner.records.permissions import (
    LIMIT_CONFIRMED,
    PERMISSION_CONFIRMED,
    SUCCESSOR_UNSEEN,
    Area,
    Permission,
)
from planner.rules.records import TvChannel
from planner.tables import read_table
from planner.units import khz_to_hz, mhz_to_hz

CEPT = "CEPT"
EUROPEAN_UNION = "EU"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Country:
    """A country of the shipped rules.

    Attributes
    ----------
    code, name : str
        ISO 3166 code, name for people.
    region : str
        Where an unconfirmed limit looks for a confirmed one of the same use.
    in_union : bool
        Whether the European Union's decisions bind it.
    """

    code: str
    name: str
    region: str
    in_union: bool

    @property
    def shared_codes(self) -> tuple[str, ...]:
        """Codes of shared rows that may apply here."""
        union = (EUROPEAN_UNION,) if self.in_union else ()
        return (CEPT, *union) if self.region == CEPT else ()


@functools.cache
def countries() -> dict[str, Country]:
    """Return the countries that have shipped rows, their own or those of CEPT, by code."""
    table = read_table("world_countries")
    return {
        code: Country(code=code, name=name, region=region, in_union=union == "yes")
        for code, name, region, union in zip(
            table["country"], table["name"], table["region"], table["eu"], strict=True
        )
    }


@functools.cache
def shipped_permissions() -> tuple[Permission, ...]:
    """Return every row of the shipped table, ascending by country and frequency."""
    table = read_table("world_permissions")
    return tuple(
        _permission(dict(zip(table, cells, strict=True)))
        for cells in zip(*table.values(), strict=True)
    )


def _permission(row: dict[str, str]) -> Permission:
    status = parts(row["status"])
    return Permission(
        country=row["country"],
        low_hz=mhz_to_hz(row["low_mhz"]),
        high_hz=mhz_to_hz(row["high_mhz"]),
        use=row["use"],
        form=row["form"],
        modulation=row["modulation"],
        licence_kind=row["licence_kind"],
        eligible=row["eligible"],
        power_mw=float(row["power_mw"]) if row["power_mw"] else None,
        power_kind=row["power_kind"],
        antenna_limit=row["antenna_limit"],
        bandwidth_hz=khz_to_hz(row["bandwidth_khz"]) if row["bandwidth_khz"] else None,
        raster_hz=(
            (mhz_to_hz(row["raster_origin_mhz"] or "0"), khz_to_hz(row["raster_khz"]))
            if row["raster_khz"]
            else None
        ),
        areas=tuple(parse_area(text) for text in parts(row["area"])),
        valid_from=dt.date.fromisoformat(row["valid_from"]) if row["valid_from"] else None,
        valid_to=dt.date.fromisoformat(row["valid_to"]) if row["valid_to"] else None,
        lead_time_days=int(row["lead_time_days"]) if row["lead_time_days"] else None,
        apply_to=row["apply_to"],
        names_frequencies=row["names_frequencies"] == "yes",
        source=row["source"],
        permission_confirmed=PERMISSION_CONFIRMED in status,
        limit_confirmed=LIMIT_CONFIRMED in status,
        successor_unseen=SUCCESSOR_UNSEEN in status,
        note=row["note"],
    )


def parts(text: str) -> tuple[str, ...]:
    """Return the items of a cell that are separated by ``;``."""
    return tuple(part.strip() for part in text.split(";") if part.strip())


def parse_area(text: str) -> Area:
    """Read ``circle LAT LON KM`` or ``polygon LAT LON LAT LON LAT LON ...``.

    Parameters
    ----------
    text : str
        Degrees north and east, kilometres.

    Raises
    ------
    ValueError
        When it is neither, or a figure is out of range.
    """
    word, *figures = text.split()
    values = [float(figure) for figure in figures]
    if word == "circle" and len(values) == 3 and values[2] > 0.0:
        area = Area(points_deg=((values[0], values[1]),), radius_km=values[2])
    elif word == "polygon" and len(values) >= 6 and len(values) % 2 == 0:
        area = Area(points_deg=tuple(zip(values[::2], values[1::2], strict=True)))
    else:
        raise ValueError(f"{text} is neither circle LAT LON KM nor polygon LAT LON LAT LON ...")
    if not all(abs(lat) <= 90.0 and abs(lon) <= 180.0 for lat, lon in area.points_deg):
        raise ValueError(f"{text} has a point beyond 90 degrees north or 180 degrees east")
    return area


@functools.cache
def world_raster(code: str) -> tuple[TvChannel, ...]:
    """Return the TV channels of a country, ascending; none where no raster is known.

    Member states of the European Union without rows of their own have 21 to 48 (GE06).
    """
    table = read_table("world_tv_rasters")
    country = countries().get(code)
    if code not in table["country"] and country is not None and country.in_union:
        code = EUROPEAN_UNION
    found = [
        channel
        for name, first, last, low_mhz, width_mhz in zip(
            *(table[key] for key in ("country", "first_channel", "last_channel")),
            *(table[key] for key in ("first_low_mhz", "width_mhz")),
            strict=True,
        )
        if name == code
        for channel in _run(first, last, mhz_to_hz(low_mhz), mhz_to_hz(width_mhz))
    ]
    return tuple(sorted(found, key=lambda channel: channel.low_hz))


def _run(first: str, last: str, low_hz: int, width_hz: int) -> list[TvChannel]:
    labels = (
        [str(number) for number in range(int(first), int(last) + 1)] if first != last else [first]
    )
    return [
        TvChannel(label=label, low_hz=low_hz + k * width_hz, high_hz=low_hz + (k + 1) * width_hz)
        for k, label in enumerate(labels)
    ]


def own_rows(code: str) -> tuple[Permission, ...]:
    """Return the shipped rows that apply in a country.

    Its own; and of the rows of CEPT and, in member states, of the European Union those that
    overlap none of its own: where a country has said something the shared row says nothing.
    """
    country = countries().get(code)
    if country is None:
        return ()
    own = tuple(row for row in shipped_permissions() if row.country == code)
    shared = tuple(
        row
        for row in shipped_permissions()
        if row.country in country.shared_codes
        and not any(row.low_hz < mine.high_hz and mine.low_hz < row.high_hz for mine in own)
    )
    return own + shared


@functools.cache
def region_rows(code: str) -> tuple[Permission, ...]:
    """Return the rows of a country's region: CEPT with its members, else the region's countries."""
    known = countries()
    if code not in known:
        return ()
    region = known[code].region
    return tuple(
        row
        for row in shipped_permissions()
        if (known[row.country].region if row.country in known else CEPT) == region
    )
