"""Adding a transmitter never frees spectrum; deleting a country's rows never makes any usable."""

from __future__ import annotations

from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.occupancy import CoverageMap, compute_occupancy, compute_windows
from planner.reach import compute_reach
from planner.records import Coverage, Settings
from planner.rules import country_rules
from planner.spectrum import IntervalSet
from tests.unit.builders import FULL_US, gear, station, stations, stop

US = country_rules("US")
SEARCHED = IntervalSet([(470_000_000, 608_000_000)])
BOTH = Coverage(countries=("US", "CA"), services=("full",), low_hz=54_000_000, high_hz=608_000_000)


ROOF = stop(setting="outdoor", antenna_height_m=9.0)
"""Outdoors at the height of the curves, so that faint begins well outside a contour."""
DATES: tuple[dict[str, Any], ...] = (
    {},
    {"valid_to": "2027-03-04"},  # the day of the stop
    {"valid_from": "2027-03-04", "valid_to": "2027-12-31"},
    {"valid_to": "2027-03-03"},
    {"valid_from": "2027-03-05"},
)


@st.composite
def rows(draw: st.DrawFn) -> dict[str, Any]:
    """Return a station within about 300 km of the stop, its height known or not.

    Few channels, so that rows share them: guests of another row (of one listed before or after
    it, of itself, of nobody), sites of a group, on the air or not, for all of the tour or not.
    """
    known = draw(st.booleans())
    return station(
        draw(st.sampled_from((14, 20, 21))),
        lat_deg=39 + draw(st.floats(-2.5, 2.5)),
        lon_deg=-99 + draw(st.floats(-3, 3)),
        erp_kw=draw(st.sampled_from((0.1, 15.0, 300.0, 1000.0))),
        haat_m=draw(st.floats(-50, 900)) if known else None,
        antenna_amsl_m=draw(st.one_of(st.none(), st.floats(100, 2500))),
        service=draw(st.sampled_from(("full", "class-a", "land-mobile"))),
        country=draw(st.sampled_from(("US", "CA"))),
        status=draw(st.sampled_from(("on-air", "permit", "on-air", "off", "application"))),
        group_id=draw(st.sampled_from(("", "one", "two"))),
        shared_with=draw(st.sampled_from(("", "s1", "s2", "s3", "s0", "elsewhere"))),
        **draw(st.sampled_from(DATES)),
    )


def usable(
    table_rows: list[dict[str, Any]],
    coverages: tuple[Coverage, ...],
    neighbours: tuple[str, ...] = (),
) -> IntervalSet:
    """Return the clear windows of one range at the stop."""
    table = stations(
        [{**row, "station_id": f"s{i}"} for i, row in enumerate(table_rows)], coverages
    )
    found = compute_occupancy(
        ROOF,
        reach=compute_reach([ROOF], table, [US]),
        stop_index=0,
        stations=table,
        rules=US,
        neighbours=neighbours,
        coverage=CoverageMap(table),
        licences=(),
        settings=Settings(),
        searched=SEARCHED,
    )
    return IntervalSet(
        compute_windows(
            gear(), found, rules=US, settings=Settings(), excluded=IntervalSet()
        ).clear_hz
    )


HOME = station(14, lat_deg=43.0, lon_deg=-99.0, erp_kw=0.1, haat_m=30.0, antenna_amsl_m=2600.0)
TERRAIN = [
    station(
        14,
        lat_deg=39.0 + 0.7 * north,
        lon_deg=-99.0 + 0.9 * east,
        antenna_amsl_m=2600.0,
        haat_m=100.0,
        status="off",
    )
    for north in range(-4, 5)
    for east in range(-4, 5)
]
"""Rows off the air that tell high ground within 80 km of every other. The first such neighbour
of a mast without a HAAT takes the place of sea level, the safe side where nobody tells."""
AWAY = station(14, lat_deg=19.4, lon_deg=-99.1, erp_kw=0.1, haat_m=30.0, country="MX")
"""Some 2,200 km away: it reaches nobody here, and keeps the table from being empty."""

NEAR = station(20, lat_deg=39.3, lon_deg=-99.0, erp_kw=300.0, haat_m=200.0)
WEAK = station(20, lat_deg=40.8, lon_deg=-99.0, erp_kw=0.1, haat_m=30.0)
"""Some 33 and 200 km from the stop; the weak one alone leaves the channel quiet."""


def test_the_weak_row_leaves_the_channel_quiet_and_the_near_one_takes_it() -> None:
    channel = (506_000_000, 512_000_000)
    assert usable([HOME, WEAK], (FULL_US,)).holds(*channel)
    assert not usable([HOME, NEAR], (FULL_US,)).clip(*channel)
    assert not usable([HOME, {**NEAR, "service": "land-mobile"}], (FULL_US,)).clip(*channel)


@settings(max_examples=150, deadline=None)
@given(st.lists(rows(), max_size=6), rows())
# s1 is the first of the list, s2 the row added: a weak host 200 km away for a strong guest, held
# by its contour and then only faint; a site off the air in its group; a row that has ended
@example([{**NEAR, "shared_with": "s2"}], WEAK)
@example([{**NEAR, "service": "land-mobile", "shared_with": "s2"}], WEAK)
@example([{**NEAR, "group_id": "one"}], {**WEAK, "group_id": "one", "status": "off"})
@example([{**NEAR, "group_id": "one"}], {**WEAK, "group_id": "one"})
@example([NEAR], {**WEAK, "valid_to": "2027-03-03"})
def test_adding_a_transmitter_never_frees_spectrum(
    table_rows: list[dict[str, Any]], more: dict[str, Any]
) -> None:
    # the country is covered before and after, so that only the transmitter is new
    before = usable([HOME, *table_rows, *TERRAIN], (FULL_US,))
    after = usable([HOME, *table_rows, *TERRAIN, more], (FULL_US,))
    assert not after - before


@settings(max_examples=60, deadline=None)
@given(
    st.lists(rows(), min_size=1, max_size=6),
    st.sampled_from(("US", "CA")),
    st.sampled_from(((FULL_US,), (BOTH,), (Coverage(partial=True),))),
)
def test_deleting_a_countrys_rows_never_makes_spectrum_usable_there(
    table_rows: list[dict[str, Any]], country: str, coverages: tuple[Coverage, ...]
) -> None:
    neighbours = ("CA",) if country == "CA" else ()
    # a table without a row cannot be loaded, so one row of a third country stays
    before = usable([AWAY, *table_rows], coverages, neighbours)
    kept = [row for row in table_rows if row["country"] != country]
    after = usable([AWAY, *kept], coverages, neighbours)
    assert not after - before
    assert not after  # whatever stood there before: nobody tells of that country any more


@settings(max_examples=40, deadline=None)
@given(st.lists(rows(), min_size=1, max_size=5), st.sampled_from((FULL_US, BOTH)))
def test_deleting_the_coverage_never_makes_spectrum_usable(
    table_rows: list[dict[str, Any]], claim: Coverage
) -> None:
    with_claim = usable([HOME, *table_rows], (claim,))
    without = usable([HOME, *table_rows], (Coverage(partial=True),))
    empty_claim = usable([HOME, *table_rows], (Coverage(),))
    assert not without - with_claim
    assert not empty_claim
