"""Adding a transmitter never frees spectrum; deleting a country's rows never makes any usable."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
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


@st.composite
def rows(draw: st.DrawFn) -> dict[str, Any]:
    """Return a station within about 300 km of the stop, its height known or not."""
    known = draw(st.booleans())
    return station(
        draw(st.integers(14, 36)),
        lat_deg=39 + draw(st.floats(-2.5, 2.5)),
        lon_deg=-99 + draw(st.floats(-3, 3)),
        erp_kw=draw(st.sampled_from((0.1, 15.0, 300.0, 1000.0))),
        haat_m=draw(st.floats(-50, 900)) if known else None,
        antenna_amsl_m=draw(st.one_of(st.none(), st.floats(100, 2500))),
        service=draw(st.sampled_from(("full", "class-a", "land-mobile"))),
        country=draw(st.sampled_from(("US", "CA"))),
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
        stop(),
        reach=compute_reach([stop()], table, [US]),
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


@settings(max_examples=60, deadline=None)
@given(st.lists(rows(), max_size=6), rows())
def test_adding_a_transmitter_never_frees_spectrum(
    table_rows: list[dict[str, Any]], more: dict[str, Any]
) -> None:
    # the country is covered before and after, so that only the transmitter is new
    before = usable([HOME, *table_rows], (FULL_US,))
    after = usable([HOME, *table_rows, more], (FULL_US,))
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
    before = usable(table_rows, coverages, neighbours)
    kept = [row for row in table_rows if row["country"] != country]
    after = usable(kept, coverages, neighbours) if kept else IntervalSet()
    assert not after - before


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
