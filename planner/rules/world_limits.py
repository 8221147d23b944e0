"""Which figures of a row may be relied on, and what stands in for those that may not."""

from __future__ import annotations

import dataclasses
import functools
from typing import TYPE_CHECKING

from planner.records.permissions import ANY_FORM
from planner.rules.world_tables import (
    CEPT,
    EUROPEAN_UNION,
    countries,
    region_rows,
    shipped_permissions,
)
from planner.units import convert_power_mw

if TYPE_CHECKING:
    import datetime as dt

    from planner.records.permissions import Permission

LEAST_LIMIT_MW = 10.0
"""What an unconfirmed limit is taken for where its region has no confirmed one [mW EIRP]."""
ANY_MEMBER = "GB"
"""A member of CEPT: the region of a row of all CEPT is that of any of them."""
LIKELY_BANDWIDTH_HZ = 200_000
"""What an unknown limit of bandwidth is taken for [Hz]; common practice, no source."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Limit:
    """A limit of power that is planned with.

    Attributes
    ----------
    power_mw, power_kind : float, str
        Limit [mW] and how it is measured.
    text : str
        Where it comes from when it is not the row's own, else empty.
    """

    power_mw: float
    power_kind: str
    text: str = ""


def eirp_mw(power_mw: float, power_kind: str) -> float:
    """Return a limit as EIRP with a half-wave dipole, for comparing [mW]."""
    return convert_power_mw(power_mw, power_kind, "EIRP")


@functools.lru_cache(maxsize=4096)
def limit_of(row: Permission, form: str, low_hz: int, high_hz: int) -> Limit:
    """Return the limit of a row in a part of its span.

    Parameters
    ----------
    row : Permission
        The row.
    form : str
        Form of the equipment, ``"any"`` where it is not known.
    low_hz, high_hz : int
        The part; no other row may begin or end inside [Hz].

    Notes
    -----
    A limit that no text confirms is the lowest confirmed one of that use in the region, or
    10 mW EIRP; where the row's own figure is lower still, that one.
    """
    repeated = region_wide(row)
    if row.limit_confirmed and row.power_mw is not None:
        return Limit(power_mw=row.power_mw, power_kind=row.power_kind)
    if repeated is not None and repeated.power_mw is not None:
        text = f"{repeated.power_mw:g} mW {repeated.power_kind} as in the row of all {CEPT}"
        return Limit(power_mw=repeated.power_mw, power_kind=repeated.power_kind, text=text)
    found = min(
        _confirmed(row, form, low_hz, high_hz),
        key=lambda other: (eirp_mw(other.power_mw or 0.0, other.power_kind), other.country),
        default=None,
    )
    if found is not None and found.power_mw is not None:
        limit = Limit(power_mw=found.power_mw, power_kind=found.power_kind)
        where = f"the lowest confirmed of its region, that of {found.country}"
    else:
        limit = Limit(power_mw=LEAST_LIMIT_MW, power_kind="EIRP")
        where = "no limit of its region is confirmed"
    if row.power_mw is not None and (
        eirp_mw(row.power_mw, row.power_kind) < eirp_mw(limit.power_mw, limit.power_kind)
    ):
        limit = Limit(power_mw=row.power_mw, power_kind=row.power_kind)
        where = "the row's own, lower than any confirmed one"
    text = f"limit not confirmed: {limit.power_mw:g} mW {limit.power_kind} is taken, {where}"
    return dataclasses.replace(limit, text=text)


def _confirmed(row: Permission, form: str, low_hz: int, high_hz: int) -> list[Permission]:
    """Return rows of the region with a confirmed limit that cover a span for a use and form."""
    code = row.country if row.country in countries() else ANY_MEMBER
    if row.country not in {*countries(), CEPT, EUROPEAN_UNION}:
        return []
    return [
        other
        for other in region_rows(code)
        if other.limit_confirmed
        and other.power_mw is not None
        and not other.closes
        and other.low_hz <= low_hz
        and high_hz <= other.high_hz
        and other.form in {ANY_FORM, form}
    ]


@functools.lru_cache(maxsize=4096)
def region_wide(row: Permission) -> Permission | None:
    """Return the confirmed licence-exempt row of all CEPT that a row repeats, if there is one.

    Same limits of frequency, no licence, and the same power or none written.
    """
    country = countries().get(row.country)
    if country is None or row.licence_kind != "none" or row.names_frequencies:
        return None
    return next(
        (
            other
            for other in shipped_permissions()
            if other.country in country.shared_codes
            and other.permission_confirmed
            and other.limit_confirmed
            and other.licence_kind == "none"
            and (other.low_hz, other.high_hz) == (row.low_hz, row.high_hz)
            and row.power_mw in {None, other.power_mw}
            and row.power_kind in {"", other.power_kind}
        ),
        None,
    )


def doubt_of_permission(row: Permission, last: dt.date | None) -> str:
    """Say why a permission is not confirmed up to the last day of a stop; empty where it is."""
    ended = row.valid_to is not None and last is not None and last > row.valid_to
    if ended and row.successor_unseen:
        return f"the order seen ended on {row.valid_to}, what follows was not seen"
    if row.permission_confirmed or region_wide(row) is not None:
        return ""
    return "permission not confirmed"
