"""Rows of the ``field`` command that ask ITU-R P.1546: a path of land and sea."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength import p1546
from planner.field_strength.p1546_curves import FARTHEST_KM, ZONES
from planner.intake.cells import NumberRange

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.intake.cells import Row

COLUMNS = ("frequency_mhz", "time_percent", "effective_height_m", "path_km", "path_zones")
"""Columns a table must have; those of the receiver may be left out."""
CLUTTER = ("Rural", "Suburban", "Urban", "Dense Urban")
_MOST_M = p1546.GREATEST_HEIGHT_M
_LIMITS = {
    "frequency_mhz": NumberRange(low=30.0, high=4000.0, unit="MHz"),
    "time_percent": NumberRange(low=1.0, high=50.0, unit="%"),
    "effective_height_m": NumberRange(low=-_MOST_M, high=_MOST_M, unit="m"),
    "receiver_height_m": NumberRange(low=1.0, high=_MOST_M, unit="m"),
    "clutter_height_m": NumberRange(low=1.0, high=100.0, unit="m"),
    "location_percent": NumberRange(low=1.0, high=99.0, unit="%"),
}
_ASSUMED = {"receiver_height_m": 10.0, "clutter_height_m": 10.0, "location_percent": 50.0}
_PART_KM = NumberRange(low=0.0, high=FARTHEST_KM, unit="km")


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class PathQuestion:
    """One row: a path for 1 kW ERP.

    Attributes
    ----------
    frequency_mhz, time_percent, effective_height_m, receiver_height_m : float
        [MHz], [%], [m], [m above ground].
    surroundings : str
        A key of :data:`planner.field_strength.p1546.SURROUNDINGS`.
    clutter_height_m, location_percent : float
        [m], [%].
    distance_km, cold_sea_share, warm_sea_share : float
        Whole length [km]; shares of it.
    """

    frequency_mhz: float
    time_percent: float
    effective_height_m: float
    receiver_height_m: float
    surroundings: str
    clutter_height_m: float
    location_percent: float
    distance_km: float
    cold_sea_share: float
    warm_sea_share: float


def read_path(row: Row) -> PathQuestion | None:
    """Read one row; what is wrong with it becomes its faults, and the answer may be None."""
    figures: dict[str, float] = {}
    for name, allowed in _LIMITS.items():
        value = row.number(name, allowed, required=name not in _ASSUMED)
        figures[name] = _ASSUMED.get(name, np.nan) if value is None else value
    surroundings = row.word("clutter", CLUTTER, default="Rural").lower()
    lengths = row.numbers("path_km", _PART_KM, required=True)
    zones = row.items("path_zones", required=True)
    unknown = [zone for zone in zones if zone not in ZONES]
    if unknown:
        row.fault("path_zones", allowed=" / ".join(ZONES), advice=f"correct {unknown[0]}")
    if len(lengths) != len(zones):
        row.fault(
            "path_zones", allowed="one zone a part of path_km", advice="write as many of each"
        )
    total = sum(lengths)
    if total > FARTHEST_KM:
        row.fault("path_km", allowed=f"at most {FARTHEST_KM:g} km together", advice="no figure")
    if unknown or len(lengths) != len(zones) or not zones or total > FARTHEST_KM:
        return None
    cold, warm = (
        sum(km for km, zone in zip(lengths, zones, strict=True) if zone == name)
        for name in ZONES[1:]
    )
    whole = total or 1.0
    return PathQuestion(
        **figures,
        surroundings=surroundings,
        distance_km=total,
        cold_sea_share=cold / whole,
        warm_sea_share=warm / whole,
    )


def path_fields_dbuv_m(questions: Sequence[PathQuestion]) -> npt.NDArray[np.float64]:
    """Return the field of each path for 1 kW ERP [dB(uV/m)]."""

    def column(name: str) -> npt.NDArray[np.float64]:
        return np.array([getattr(question, name) for question in questions], dtype=np.float64)

    if not questions:
        return np.empty(0)
    return np.asarray(
        p1546.field_dbuv_m(
            column("frequency_mhz") * 1e6,
            p1546.Paths(
                distance_km=column("distance_km"),
                effective_height_m=column("effective_height_m"),
                cold_sea_share=column("cold_sea_share"),
                warm_sea_share=column("warm_sea_share"),
            ),
            time_percent=column("time_percent"),
            receiver=p1546.Receiver(
                height_m=column("receiver_height_m"),
                surroundings=np.array([question.surroundings for question in questions]),
                clutter_height_m=column("clutter_height_m"),
                location_percent=column("location_percent"),
            ),
        )
    )
