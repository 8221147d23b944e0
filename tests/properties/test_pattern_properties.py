"""Patterns: turning everything changes nothing; less field never means a larger contour."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.geodesy import direct
from planner.reach import ReachTable, compute_reach
from planner.rules import country_rules
from tests.unit.builders import station, stations, stop

US = country_rules("US")
PATTERNS = st.dictionaries(st.integers(0, 359), st.floats(0.0, 1.0), min_size=2, max_size=12).map(
    lambda points: [(float(azimuth), value) for azimuth, value in points.items()]
)


def seen(
    pattern: list[tuple[float, float]], rotation_deg: float, *, km: float, azimuth_deg: float
) -> ReachTable:
    lat, lon = direct(39.0, -99.0, azimuth_deg, km)
    here = stop(lat_deg=float(lat), lon_deg=float(lon))
    row = station(20, pattern="p", pattern_rotation_deg=rotation_deg)
    return compute_reach([here], stations([row], patterns={"p": pattern}), [US])


@settings(max_examples=60, deadline=None)
@given(PATTERNS, st.integers(0, 359), st.floats(1, 140), st.floats(0, 359))
def test_turning_pattern_and_azimuth_together_changes_nothing(
    pattern: list[tuple[float, float]], turn_deg: int, km: float, azimuth_deg: float
) -> None:
    one = seen(pattern, 0.0, km=km, azimuth_deg=azimuth_deg)
    two = seen(pattern, float(turn_deg), km=km, azimuth_deg=azimuth_deg + turn_deg)
    # azimuths there and back are good to 1e-9 deg, and the steepest pattern is 1 a degree: 1e-6
    # of the field, a metre of contour near a null
    assert abs(one.erp_toward_stop_kw[0] - two.erp_toward_stop_kw[0]) < 1e-6 * 100
    assert abs(one.contour_law_km[0] - two.contour_law_km[0]) < 1e-2
    assert abs(one.outside_law_km[0] - two.outside_law_km[0]) < 1e-2


@settings(max_examples=60, deadline=None)
@given(PATTERNS, st.floats(0.1, 1.0), st.floats(1, 140), st.floats(0, 359))
def test_a_lower_relative_field_never_gives_a_larger_contour(
    pattern: list[tuple[float, float]], share: float, km: float, azimuth_deg: float
) -> None:
    full = seen(pattern, 0.0, km=km, azimuth_deg=azimuth_deg)
    less = seen([(a, v * share) for a, v in pattern], 0.0, km=km, azimuth_deg=azimuth_deg)
    # 0.1 m: three Newton steps of the inversion
    assert less.contour_law_km[0] <= full.contour_law_km[0] + 1e-4
    assert less.outside_cautious_km[0] >= full.outside_cautious_km[0] - 1e-4
    assert np.all(less.law_radii_km <= full.law_radii_km + 1e-4)
