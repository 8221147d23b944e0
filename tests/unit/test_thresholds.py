"""Verdicts at their limits: 4.00 km, 6.0 dB and 129.00 km, each after rounding."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from planner.geodesy import direct
from planner.occupancy import CoverageMap, Occupancy, compute_occupancy
from planner.reach import compute_reach
from planner.records import Settings, Stop
from planner.rules import country_rules
from planner.spectrum import IntervalSet
from tests.unit.builders import station, stations, stop
from tests.unit.planning import FAR, moved

US = country_rules("US")
UHF = IntervalSet([(470_000_000, 608_000_000)])
ROOF = stop(setting="outdoor", antenna_height_m=9.0)
"""At the height of the curves and outdoors: nothing is added to the field or taken from it."""


def occupancy(where: Stop, **columns: float) -> Occupancy:
    """Return the air with columns of the one reach row (channel 20) set to given values."""
    table = stations([station(20, **moved(80))])
    reach = compute_reach([where], table, [US])
    assert len(reach) == 1
    reach = dataclasses.replace(reach, **{name: np.array([v]) for name, v in columns.items()})
    return compute_occupancy(
        where,
        reach=reach,
        stop_index=0,
        stations=table,
        rules=US,
        neighbours=(),
        coverage=CoverageMap(table),
        licences=(),
        settings=Settings(),
        searched=UHF,
    )


def air(found: Occupancy, label: str) -> str:
    return next(channel.air for channel in found.channels if channel.label == label)


# 4 km: 47 CFR 74.802(b)(1). A distance is rounded to 0.01 km before it is compared.
@pytest.mark.parametrize(
    ("outside_km", "protected"),
    [
        (-1.0, True),
        (3.99, True),
        (4.0, True),  # the limit itself belongs to it
        (4.004, True),  # 4.00 when rounded
        (4.006, False),  # 4.01 when rounded
    ],
)
def test_a_contour_holds_to_4_km_inclusive_after_rounding(
    outside_km: float, *, protected: bool
) -> None:
    # a field of 0 dB(uV/m) raises no noise, so what is not held is quiet
    found = occupancy(
        ROOF, outside_cautious_km=outside_km, outside_law_km=99.0, field_interference_dbuv_m=0.0
    )
    assert air(found, "20") == ("held" if protected else "quiet")
    assert "20" not in found.facts.protected
    law = occupancy(ROOF, outside_cautious_km=outside_km, outside_law_km=outside_km)
    assert ("20" in law.facts.protected) is protected


def field_for_rise(rise_db: float, frequency_hz: int) -> float:
    """Return the field of a 6 MHz TV signal that raises the reference receiver's noise so much.

    From the definitions: k T B with 290 K, 200 kHz and 6 dB; a signal spread over 5.38 MHz; an
    isotropic antenna's area, wavelength squared over 4 pi; 120 pi ohm (47 CFR and ITU-R practice;
    0.001 dB from the exact impedance).
    """
    noise_w = 1.380649e-23 * 290 * 200_000 * 10**0.6
    signal_w = noise_w * (10 ** (rise_db / 10) - 1) * 5_380_000 / 200_000
    area_m2 = (299_792_458 / frequency_hz) ** 2 / (4 * math.pi)
    return 10 * math.log10(signal_w / area_m2 * 120 * math.pi * 1e12)


# 6 dB: the default limit of the settings. A noise rise is rounded to 0.1 dB before it is
# compared; the cases lie 0.01 dB beside the edges of rounding, ten times the arithmetic's error.
@pytest.mark.parametrize(
    ("rise_db", "expected", "written_db"),
    [
        (5.94, "quiet", 5.9),
        (5.96, "faint", 6.0),
        (6.0, "faint", 6.0),  # the limit itself belongs to it
        (6.04, "faint", 6.0),
        (6.2, "faint", 6.2),
    ],
)
def test_faint_begins_at_6_db_inclusive_after_rounding(
    rise_db: float, expected: str, written_db: float
) -> None:
    found = occupancy(
        ROOF,
        outside_cautious_km=99.0,
        outside_law_km=99.0,
        field_interference_dbuv_m=field_for_rise(rise_db, 509_000_000),
    )
    (span,) = (row for row in found.spans if row.low_hz == 506_000_000)
    assert (span.air, span.noise_rise_db) == (expected, written_db)


DALLAS = (32.785972, -96.793889)
"""Centre of the land mobile area Dallas/Fort Worth, channel 16 (47 CFR 90.303(b))."""


# 129 km: 47 CFR 90.303 with 22.657; caution to 134 km (15.712(d), from memory)
@pytest.mark.parametrize(
    ("km", "kind"),
    [
        (128.99, "held"),
        (129.0, "held"),
        (129.004, "held"),  # 129.00 when rounded to 0.01 km
        (129.006, "caution"),
        (133.9, "caution"),
        (134.01, None),
    ],
)
def test_land_mobile_holds_to_129_km_inclusive_after_rounding(km: float, kind: str | None) -> None:
    lat, lon = direct(*DALLAS, 270.0, km)
    notes = US.channel_notes(float(lat), float(lon))
    found = next((note.kind for note in notes if note.label == "16"), None)
    assert found == kind


def test_a_land_mobile_caution_is_told_but_does_not_hold_the_channel() -> None:
    verdicts = {}
    for km in (128.0, 131.5):
        lat, lon = direct(*DALLAS, 270.0, km)
        where = stop(lat_deg=float(lat), lon_deg=float(lon))
        table = stations([FAR])
        found = compute_occupancy(
            where,
            reach=compute_reach([where], table, [US]),
            stop_index=0,
            stations=table,
            rules=US,
            neighbours=(),
            coverage=CoverageMap(table),
            licences=(),
            settings=Settings(),
            searched=UHF,
        )
        (channel,) = (row for row in found.channels if row.label == "16")
        verdicts[km] = (channel.air, {row.code for row in channel.reasons})
    assert verdicts[128.0][0] == "held"
    assert "land-mobile" in verdicts[128.0][1]
    assert verdicts[131.5][0] == "quiet"
    assert "land-mobile-near" in verdicts[131.5][1]
