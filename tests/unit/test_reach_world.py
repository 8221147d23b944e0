"""Reach outside the FCC countries: P.1546 fields, land and sea, what counts as received."""

from __future__ import annotations

import numpy as np
import pytest

from planner.field_strength import p1546
from planner.geodesy import direct
from planner.reach import ReachTable, compute_reach
from planner.reach.by_p1546 import held_level_dbuv_m
from planner.reach.sea_paths import SAMPLES, is_warm, sea_shares
from planner.rules import CountryRules, country_rules
from planner.rules.records import ContourLevels
from planner.rules.us import UnitedStatesRules
from tests.unit.builders import station, stations, stop

pytest.importorskip("global_land_mask", reason="the land and sea mask is not installed")

INLAND = (52.13, -0.24)
COAST = (50.68, -1.37)
"""Points in England: 60 km and more from the sea to the west, and on an island off the south."""


class World(UnitedStatesRules):
    """A country that judges by the predicted field; all else is of no matter here."""

    code = "GB"
    margin_km = 0.0
    contour_name = "area"

    def contour_levels(
        self, frequency_hz: np.ndarray[tuple[int], np.dtype[np.int64]], system: object
    ) -> ContourLevels:
        del system
        level = held_level_dbuv_m(frequency_hz)
        return ContourLevels(
            curve=np.full(len(level), "P.1546-6"), law_dbuv_m=level, cautious_dbuv_m=level
        )


def reach(
    site: tuple[float, float], azimuth_deg: float, distances_km: list[float], **more: object
) -> ReachTable:
    rules: CountryRules = World()
    places = [direct(*site, azimuth_deg, km) for km in distances_km]
    stops = [stop(country="GB", lat_deg=float(lat), lon_deg=float(lon)) for lat, lon in places]
    lat_deg, lon_deg = site
    row = station(20, country="GB", system="dvb-t2", lat_deg=lat_deg, lon_deg=lon_deg, **more)
    return compute_reach(stops, stations([row]), [rules] * len(stops))


def test_the_level_of_a_received_service() -> None:
    assert held_level_dbuv_m(np.array([650e6, 325e6])) == pytest.approx([56.0, 49.979], abs=0.001)


def test_the_field_is_that_of_the_model_over_land() -> None:
    table = reach(INLAND, 270.0, [30.0])
    expected = [
        p1546.field_dbuv_m(
            509e6,
            p1546.Paths(distance_km=30.0, effective_height_m=300.0),
            time_percent=time,
            erp_kw=100.0,
        )
        for time in (50.0, 10.0)
    ]
    # 0.001 dB: the 1e-6 km between there and back
    assert table.field_50_50_dbuv_m[0] == pytest.approx(expected[0], abs=0.001)
    assert table.field_50_10_dbuv_m[0] == pytest.approx(expected[1], abs=0.001)
    assert table.field_height_m[0] == 10.0


def test_a_main_mast_is_held_near_and_not_far_and_never_rises() -> None:
    table = reach(INLAND, 270.0, [12.0, 30.0, 60.0, 120.0], erp_kw=180.0)
    held = table.outside_law_km <= 0.0
    assert held[0]
    assert not held[-1]
    assert np.all(np.diff(table.field_50_50_dbuv_m) < 0)
    assert np.all(np.diff(held.astype(int)) <= 0)


def test_over_the_sea_it_reaches_farther() -> None:
    land = reach(INLAND, 270.0, [120.0], haat_m=500.0)
    sea = reach(COAST, 225.0, [120.0], haat_m=500.0)
    assert sea.contour_law_km[0] > land.contour_law_km[0] + 10.0
    assert sea.field_50_10_dbuv_m[0] > land.field_50_10_dbuv_m[0] + 10.0


@pytest.mark.parametrize("km", [12.0, 60.0, 100.0, 120.0])
def test_inside_means_that_the_field_meets_the_level(km: float) -> None:
    table = reach(COAST, 225.0, [km], erp_kw=200.0)
    level = float(held_level_dbuv_m(np.array([509e6]))[0])
    assert (table.outside_law_km[0] <= 0.0) == (table.field_50_50_dbuv_m[0] >= level)


def test_an_outline_is_drawn_round_a_near_station() -> None:
    table = reach(INLAND, 270.0, [30.0])
    assert table.polygon[0] == 0
    assert table.law_radii_km.shape == (1, 360)
    # 0.05 km: halvings of the outline end at 0.031 km
    assert table.law_radii_km[0, 270] == pytest.approx(table.contour_law_km[0], abs=0.05)


def test_an_assumed_height_over_the_sea_is_that_above_the_sea() -> None:
    more = {"haat_m": None, "site_amsl_m": 400.0, "height_agl_m": 200.0}
    table = reach(COAST, 225.0, [100.0], **more)
    known = reach(COAST, 225.0, [100.0], haat_m=300.0)
    assert table.haat_assumed[0]
    assert table.field_50_50_dbuv_m[0] > known.field_50_50_dbuv_m[0] + 1.0


def test_stops_of_the_united_states_keep_their_curves() -> None:
    lat, lon = direct(39.0, -99.0, 90.0, 60.0)
    row = station(20, lat_deg=float(lat), lon_deg=float(lon))
    gb = stop(country="GB", lat_deg=INLAND[0], lon_deg=INLAND[1])
    alone = compute_reach([stop()], stations([row]), [country_rules("US")])
    both = compute_reach([stop(), gb], stations([row]), [country_rules("US"), World()])
    assert both.field_50_50_dbuv_m.tolist() == alone.field_50_50_dbuv_m.tolist()
    assert both.field_height_m.tolist() == [9.0]


def test_shares_of_sea() -> None:
    ends = np.array(
        [
            (51.5, -0.1, 52.5, -1.9),  # over land
            (49.0, -8.0, 47.0, -8.0),  # open ocean
            (36.5, 14.5, 35.0, 18.0),  # Mediterranean
            (41.9, -87.3, 43.0, -87.0),  # a lake
            (-17.0, 179.5, -17.0, -178.5),  # over the 180-degree meridian, ocean
            (89.9, 0.0, 89.9, 180.0),  # over the pole
        ]
    ).T
    cold, warm = sea_shares(*ends)
    step = 1 / SAMPLES
    assert cold[:4].tolist() == [0.0, 1.0, 0.0, 0.0]
    assert warm[:4].tolist() == [0.0, 0.0, 1.0, 0.0]
    assert warm[4] >= 1 - 8 * step, "an island or two may lie on the way"
    assert cold[5] == 1.0
    assert is_warm(np.array([60.0, 20.0]), np.array([0.0, 0.0])).tolist() == [False, True]


def test_a_path_of_no_length_is_where_it_stands() -> None:
    cold, warm = sea_shares(*(np.array([value]) for value in (49.0, -8.0, 49.0, -8.0)))
    assert (cold[0], warm[0]) == (1.0, 0.0)
