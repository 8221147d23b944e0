"""Interval sets obey set algebra: checked against sets of whole points, one a unit cell."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.spectrum import IntervalSet, common, depth, intersect_closed, meet, shrink, stop_costs

spans = st.lists(
    st.tuples(st.integers(0, 40), st.integers(1, 12)).map(lambda p: (p[0], p[0] + p[1])),
    max_size=6,
)
sets = spans.map(IntervalSet)


def cells(intervals: IntervalSet) -> set[int]:
    """Return the unit cells of a set: cell n is the span n to n + 1."""
    return {n for low, high in intervals for n in range(low, high)}


@given(sets, sets)
def test_union_intersection_and_cut_are_those_of_cells(a: IntervalSet, b: IntervalSet) -> None:
    assert cells(a | b) == cells(a) | cells(b)
    assert cells(a & b) == cells(a) & cells(b)
    assert cells(a - b) == cells(a) - cells(b)
    assert (a & b).width_hz == len(cells(a) & cells(b))


@given(sets)
def test_spans_are_sorted_disjoint_and_never_touch(a: IntervalSet) -> None:
    assert all(low < high for low, high in a)
    assert all(left[1] < right[0] for left, right in zip(a.spans, a.spans[1:], strict=False))


@given(sets, sets, sets)
def test_laws_of_set_algebra(a: IntervalSet, b: IntervalSet, c: IntervalSet) -> None:
    assert a & (b | c) == (a & b) | (a & c)
    assert a - (b | c) == (a - b) & (a - c)
    assert a | b == b | a
    assert (a - b) | (a & b) == a


@given(sets, st.integers(0, 50), st.integers(0, 50))
def test_clip_is_an_intersection(a: IntervalSet, low: int, high: int) -> None:
    assert cells(a.clip(low, high)) == {n for n in cells(a) if low <= n < high}


@given(sets, st.lists(st.integers(0, 60)))
def test_splitting_keeps_every_cell_once(a: IntervalSet, edges: list[int]) -> None:
    parts = a.split(edges)
    assert sorted(n for low, high in parts for n in range(low, high)) == sorted(cells(a))
    assert not any(low < edge < high for low, high in parts for edge in edges)


@given(spans, st.integers(0, 9))
def test_a_shrunk_span_holds_exactly_the_centres_whose_bandwidth_fits(
    raw: list[tuple[int, int]], bandwidth: int
) -> None:
    windows = IntervalSet(raw).spans
    half = (bandwidth + 1) // 2
    allowed = {
        c for low, high in shrink(windows, bandwidth_hz=bandwidth) for c in range(low, high + 1)
    }
    expected = {
        c for low, high in windows for c in range(61) if low <= c - half and c + half <= high
    }
    assert allowed == expected


@given(sets, st.integers(0, 50), st.integers(1, 12))
def test_holds_means_inside_one_interval(a: IntervalSet, low: int, width: int) -> None:
    assert a.holds(low, low + width) == set(range(low, low + width)).issubset(cells(a))


def test_a_span_without_width_is_refused() -> None:
    with pytest.raises(ValueError, match="5 to 5 Hz: the low edge must be below"):
        IntervalSet([(5, 5)])


@given(st.lists(sets, min_size=1, max_size=5))
def test_common_spectrum_lies_in_every_stop_and_ignores_their_order(
    stops: list[IntervalSet],
) -> None:
    found = common(stops)
    assert found == common(stops[::-1])
    assert all(cells(found) <= cells(stop) for stop in stops)
    assert cells(found) == set.intersection(*(cells(stop) for stop in stops))


@given(st.lists(sets, min_size=1, max_size=5))
def test_depth_names_exactly_the_stops_of_every_cell(stops: list[IntervalSet]) -> None:
    usable = {f"s{i}": stop for i, stop in enumerate(stops)}
    searched = IntervalSet([(0, 60)])
    rows = depth(usable, searched)
    assert [row.low_hz for row in rows[1:]] == [row.high_hz for row in rows[:-1]]
    assert (rows[0].low_hz, rows[-1].high_hz) == (0, 60)
    for row in rows:
        for cell in range(row.low_hz, row.high_hz):
            assert row.stops == tuple(key for key, stop in usable.items() if cell in cells(stop))


@given(st.lists(sets, min_size=2, max_size=5))
def test_a_stops_cost_is_what_its_removal_gains(stops: list[IntervalSet]) -> None:
    usable = {f"s{i}": stop for i, stop in enumerate(stops)}
    everything = common(stops).width_hz
    for key, cost in stop_costs(usable).items():
        others = [stop for name, stop in usable.items() if name != key]
        assert cost == common(others).width_hz - everything


grids = st.tuples(st.integers(0, 60), st.integers(1, 20))


@given(grids, grids)
def test_two_grids_meet_where_both_have_points(a: tuple[int, int], b: tuple[int, int]) -> None:
    both = {n for n in range(1200) if (n - a[0]) % a[1] == 0 and (n - b[0]) % b[1] == 0}
    met = meet(a, b)
    if met is None:
        assert not both
    else:
        assert {n for n in range(1200) if (n - met[0]) % met[1] == 0} == both


closed = st.lists(st.integers(0, 60), max_size=10).map(
    lambda marks: tuple(zip(*[iter(sorted(set(marks)))] * 2, strict=False))
)


@given(closed, closed)
def test_closed_spans_share_their_common_points(
    a: tuple[tuple[int, int], ...], b: tuple[tuple[int, int], ...]
) -> None:
    def points(windows: tuple[tuple[int, int], ...]) -> set[int]:
        return {n for low, high in windows for n in range(low, high + 1)}

    assert points(intersect_closed(a, b)) == points(a) & points(b)
