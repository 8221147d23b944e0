"""The figures of the United States as records: permissions, TV channels, services."""

from __future__ import annotations

import dataclasses
import functools

from planner.rules.records import ServiceSpan, TvChannel
from planner.rules.us_relief import COORDINATION, LICENCE
from planner.tables import read_table
from planner.units import khz_to_hz, mhz_to_hz


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Permission:
    """One row of ``us_permissions``: who may do what, where, with which power."""

    low_hz: int
    high_hz: int
    licence: str
    law: str
    wideband: bool
    limit_mw: float
    limit_kind: str
    bandwidth_limit_hz: int
    tv: bool
    section: str
    status: str
    note: str

    @property
    def asks(self) -> str:
        """What a permission on request waits for: coordination with others, or a licence."""
        return COORDINATION if "74.803" in self.section else LICENCE


@functools.cache
def permissions() -> tuple[Permission, ...]:
    """Return every permission of 47 CFR 15.236 and 74.801 ff."""
    table = read_table("us_permissions")
    rows = (dict(zip(table, cells, strict=True)) for cells in zip(*table.values(), strict=True))
    return tuple(
        Permission(
            low_hz=mhz_to_hz(row["low_mhz"]),
            high_hz=mhz_to_hz(row["high_mhz"]),
            licence="" if row["licence"] == "none" else row["licence"],
            law=row["law"],
            wideband=row["emission"] == "wideband",
            limit_mw=float(row["limit_mw"]),
            limit_kind=row["limit_kind"],
            bandwidth_limit_hz=khz_to_hz(row["bandwidth_limit_khz"]),
            tv=row["tv"] == "yes",
            section=row["section"],
            status=row["status"],
            note=row["note"],
        )
        for row in rows
    )


@functools.cache
def raster() -> tuple[TvChannel, ...]:
    """Return TV channels 2 to 37 (47 CFR 73.603)."""
    table = read_table("us_tv_raster")
    return tuple(
        TvChannel(
            label=label,
            low_hz=mhz_to_hz(low),
            high_hz=mhz_to_hz(high),
            closed=status == "closed",
            note=note,
        )
        for label, low, high, status, note in zip(
            table["channel"],
            table["low_mhz"],
            table["high_mhz"],
            table["status"],
            table["note"],
            strict=True,
        )
    )


@functools.cache
def services() -> tuple[ServiceSpan, ...]:
    """Return the spans whose use does not depend on the stop."""
    table = read_table("us_services")
    return tuple(
        ServiceSpan(
            low_hz=mhz_to_hz(low),
            high_hz=mhz_to_hz(high),
            air=air,
            service=service,
            section=section,
        )
        for low, high, air, service, section in zip(
            table["low_mhz"],
            table["high_mhz"],
            table["air"],
            table["service"],
            table["section"],
            strict=True,
        )
    )
