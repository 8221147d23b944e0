"""Both bounds of heights that had to be assumed: ordered, and no field or contour crosses."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.reach import assumed_haat_m, compute_reach, level_ground_reach
from planner.rules import country_rules
from tests.unit.builders import station, stations, stop

pytest.importorskip("global_land_mask", reason="the land and sea mask is not installed")

METRES = st.one_of(st.none(), st.floats(0, 2500))


@st.composite
def rows(draw: st.DrawFn, lat_deg: float, lon_deg: float) -> dict[str, Any]:
    return station(
        draw(st.sampled_from((14, 20, 21))),
        lat_deg=lat_deg + draw(st.floats(-2, 2)),
        lon_deg=lon_deg + draw(st.floats(-2.5, 2.5)),
        erp_kw=draw(st.sampled_from((0.01, 1.0, 200.0))),
        haat_m=draw(st.one_of(st.none(), st.none(), st.floats(-300, 900))),
        antenna_amsl_m=draw(METRES),
        site_amsl_m=draw(st.one_of(st.none(), st.floats(-5, 2000))),
        height_agl_m=draw(st.one_of(st.none(), st.floats(1, 350))),
        group_id=draw(st.sampled_from(("", "", "one"))),
    )


@settings(max_examples=60, deadline=None)
@given(st.data(), st.sampled_from((("US", 39.0, -99.0), ("GB", 53.0, -1.5), ("GB", 50.7, -1.4))))
def test_level_ground_never_gives_more(
    data: st.DataObject, where: tuple[str, float, float]
) -> None:
    country, lat_deg, lon_deg = where
    table = stations(data.draw(st.lists(rows(lat_deg, lon_deg), min_size=1, max_size=6)))
    here, rules = stop(country=country, lat_deg=lat_deg, lon_deg=lon_deg), country_rules(country)
    high, _ = assumed_haat_m(table)
    low, assumed = assumed_haat_m(table, level_ground=True)
    assert (low <= high).all()
    assert (low[~assumed] == high[~assumed]).all()
    reach = compute_reach([here], table, [rules])
    level = level_ground_reach([here], table, [rules], reach)
    for name in ("haat_m", "field_50_50_dbuv_m", "field_50_10_dbuv_m", "contour_cautious_km"):
        below, above = getattr(level, name), getattr(reach, name)
        assert (np.isnan(below) == np.isnan(above)).all()
        assert not (below > above).any(), name
    for name in ("outside_law_km", "outside_cautious_km"):
        assert not (getattr(level, name) < getattr(reach, name)).any(), name


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0, 2500),
    st.floats(0, 2500),
    st.floats(5, 300),
    st.floats(2, 200),
)
def test_a_higher_site_never_arrives_weaker(
    one_m: float, other_m: float, above_m: float, distance_km: float
) -> None:
    """The cautious height rises with the site, and the field with it, but for rounding.

    0.001 dB: rounding of the interpolations between the heights of the curves.
    """
    low_m, high_m = sorted((one_m, other_m))
    mast = station(20, country="GB", haat_m=None, height_agl_m=above_m, lat_deg=52.4, lon_deg=-1.5)
    here = stop(country="GB", lat_deg=52.4 - distance_km / 200.0, lon_deg=-1.5)
    fields = [
        compute_reach(
            [here], stations([{**mast, "site_amsl_m": site_m}]), [country_rules("GB")]
        ).field_50_10_dbuv_m[0]
        for site_m in (low_m, high_m)
    ]
    assert fields[0] <= fields[1] + 0.001
