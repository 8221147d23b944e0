"""Upper bounds on cases worked by hand."""

from __future__ import annotations

import inspect
import time
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from planner.coordination import GuardSet, PlacedCarrier, bounds_search, count_fit, upper_bound
from planner.coordination.bounds_search import NONE, OPEN, span_holds
from planner.coordination.bounds_spans import Distances, least_spans
from planner.coordination.bounds_windows import least_differences, pair_bound, sliding_bound
from planner.coordination.records import Grid
from tests.properties.coordination_oracle import largest

Spans = tuple[tuple[int, int], ...]


def bound(
    windows: Spans,
    guards: GuardSet,
    *,
    step: int = 1,
    fixed: tuple[PlacedCarrier, ...] = (),
) -> int:
    return upper_bound(windows, step_hz=step, origin_hz=0, guards=guards, fixed=fixed)


def carrier(hz: int, **guards: int) -> PlacedCarrier:
    return PlacedCarrier(frequency_hz=hz, guards=GuardSet(**{"spacing_hz": 0, **guards}))


def test_nothing_fits_into_no_window() -> None:
    assert bound((), GuardSet(spacing_hz=1)) == 0
    assert bound(((1, 9),), GuardSet(spacing_hz=1), step=10) == 0
    assert bound((), GuardSet(spacing_hz=1), fixed=(carrier(5), carrier(7))) == 2


@pytest.mark.parametrize(
    ("windows", "expected"),
    [
        (((0, 99),), 1),
        (((0, 100),), 2),
        (((0, 350),), 4),
        # windows nearer than the spacing share carriers
        (((0, 0), (60, 60), (120, 120)), 2),
        (((0, 350), (400, 400), (500, 590)), 6),
    ],
)
def test_spacing_alone_is_exact(windows: Spans, expected: int) -> None:
    guards = GuardSet(spacing_hz=100)
    assert bound(windows, guards) == expected
    grid = Grid(origin_hz=0, step_hz=1, windows_hz=windows)
    assert len(count_fit(grid, guards).carriers_hz) == expected


def test_distances_are_rounded_up_to_the_raster() -> None:
    # 101 Hz on a raster of 50 Hz is 150 Hz
    assert bound(((0, 449),), GuardSet(spacing_hz=101), step=50) == 3
    assert bound(((0, 450),), GuardSet(spacing_hz=101), step=50) == 4


@pytest.mark.parametrize(("span", "expected"), [(24, 2), (25, 3), (54, 4), (55, 5)])
def test_halving_where_only_2a_b_is_protected(span: int, expected: int) -> None:
    """Two gaps span 2 s + g, four span 4 s + 3 g: 25 and 55 for s = 10, g = 5; both are reached."""
    guards = GuardSet(spacing_hz=10, guard_2a_b_hz=5)
    assert bound(((0, span),), guards, step=5) == expected
    points = list(range(0, span + 1, 5))
    assert largest(points, (10, 5, 0, 0)) == expected


def test_differences_that_windows_cannot_have_do_not_count() -> None:
    """Two windows of 10 and a far apart: differences of 11 to 989 do not exist."""
    guards = GuardSet(spacing_hz=1, guard_2a_b_hz=1, guard_a_b_c_hz=1)
    split = bound(((0, 10), (1000, 1010)), guards)
    assert split < bound(((0, 1010),), guards)
    # each window holds a ruler of length 10, order 4; differences within are shared by both
    assert split <= 7


def test_a_b_c_without_2a_b_lets_differences_come_in_pairs() -> None:
    """0, 1, 2 has the difference 1 twice, which only 2A-B forbids."""
    cross = GuardSet(spacing_hz=1, guard_a_b_c_hz=1)
    assert bound(((0, 2),), cross) == 3
    assert bound(((0, 2),), GuardSet(spacing_hz=1, guard_2a_b_hz=1, guard_a_b_c_hz=1)) == 2
    for span in range(3, 16):
        assert largest(range(span), (1, 0, 1, 0)) <= bound(((0, span - 1),), cross)


def test_a_b_c_without_2a_b_is_still_a_bound_of_pairs() -> None:
    """201 places have 200 differences, each of which may be there twice: N (N - 1) / 2 <= 400."""
    assert bound(((0, 200),), GuardSet(spacing_hz=1, guard_a_b_c_hz=1)) <= 28
    # a small guard 2A-B beside a large one A+B-C: the large one counts, two by two
    mixed = GuardSet(spacing_hz=10, guard_2a_b_hz=1, guard_a_b_c_hz=10)
    small = GuardSet(spacing_hz=10, guard_2a_b_hz=1, guard_a_b_c_hz=1)
    assert bound(((0, 1000),), mixed) < bound(((0, 1000),), small)


def test_fixed_carriers_close_centres_and_are_counted() -> None:
    guards = GuardSet(spacing_hz=100)
    row = {"spacing_hz": 100}
    assert bound(((0, 350),), guards, fixed=(carrier(175, **row),)) == 3
    # outside all windows, harming nothing
    assert bound(((0, 350),), guards, fixed=(carrier(5000, **row),)) == 5
    # two that clash are counted all the same
    clash = (carrier(175, **row), carrier(180, **row))
    assert bound(((0, 350),), guards, fixed=clash) == 4


def test_unprotected_fixed_carriers_may_stand_where_a_row_would_not() -> None:
    """0 and 20 protect nothing, so 10 may stand between them although 2 x 10 - 0 = 20."""
    guards = GuardSet(spacing_hz=1, guard_2a_b_hz=5, guard_a_b_c_hz=5)
    fixed = (carrier(0), carrier(20))
    grid = Grid(origin_hz=0, step_hz=1, windows_hz=((10, 10),))
    assert count_fit(grid, guards, fixed=fixed).carriers_hz == (10,)
    assert bound(((10, 10),), guards, fixed=fixed) == 3


def test_many_fixed_carriers_make_the_bound_of_all_together() -> None:
    """Twelve of a perfect set and room for nothing else: no new ones are promised."""
    marks = (0, 2, 6, 24, 29, 40, 43, 55, 68, 75, 76, 85)
    row = {"spacing_hz": 1, "guard_2a_b_hz": 1, "guard_a_b_c_hz": 1}
    fixed = tuple(carrier(mark, **row) for mark in marks)
    alone = bound(((0, 85),), GuardSet(**row))
    assert 12 <= bound(((0, 85),), GuardSet(**row), fixed=fixed) <= alone


def test_fixed_off_the_raster_by_one_hertz() -> None:
    guards = GuardSet(spacing_hz=350_000, guard_2a_b_hz=100_000, guard_a_b_c_hz=100_000)
    fixed = (PlacedCarrier(frequency_hz=503_000_001, guards=guards),)
    limit = bound(((500_000_000, 506_000_000),), guards, step=25_000, fixed=fixed)
    assert 8 <= limit <= 11


def test_far_windows_and_many_spans_stay_quick() -> None:
    guards = GuardSet(spacing_hz=200_000, guard_2a_b_hz=50_000)
    spans = tuple((174_000_000 + 3_000_000 * k, 174_900_000 + 3_000_000 * k) for k in range(400))
    start = time.process_time()
    limit = bound(spans, guards, step=25_000)
    # 0.1 s measured; the allowance is for slow and busy machines
    assert time.process_time() - start < 3
    assert 400 * 3 <= limit <= 400 * 5


def test_more_spans_than_are_paired_off_stay_proven() -> None:
    """Three hundred single centres: those of a long ruler, and others in between."""
    row = GuardSet(spacing_hz=4, guard_2a_b_hz=4, guard_a_b_c_hz=4)
    spans = tuple((hz, hz) for hz in range(0, 300 * 3, 3))
    found = count_fit(Grid(origin_hz=0, step_hz=1, windows_hz=spans), row, effort="long")
    limit = bound(spans, row)
    assert len(found.carriers_hz) <= limit < 300


def test_least_spans_are_optimal_golomb_rulers() -> None:
    """OEIS A003022, lengths of optimal rulers of 2 to 9 marks."""
    unit = Distances(spacing=1, chain=1, cross=1)
    assert least_spans(44, unit, 300_000).tolist()[:9] == [0, 1, 3, 6, 11, 17, 25, 34, 44]


def test_least_spans_beyond_the_search_follow_by_formulas() -> None:
    unit = Distances(spacing=1, chain=1, cross=1)
    short, long = least_spans(500, unit, 100), least_spans(500, unit, 100_000)
    shared = min(short.size, long.size)
    assert (short[:shared] <= long[:shared]).all()
    # optimal rulers of 10 to 16 marks are 55, 72, 85, 106, 127, 151 and 177 long
    for gaps, length in zip(range(9, 16), (55, 72, 85, 106, 127, 151, 177), strict=True):
        assert 0.75 * length < long[gaps] <= length


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        # 350 and 100 kHz on 25 kHz, 2A-B alone: by parts 4 gaps are 68 and 9 are 154
        ((14, 4, 0, 0), {4: 68, 9: 158}),
        ((14, 4, 4, 0), {4: 80, 6: 144}),
        ((14, 0, 4, 0), {2: 28, 3: 46}),
    ],
)
def test_least_spans_of_real_distances(
    row: tuple[int, int, int, int], expected: dict[int, int]
) -> None:
    distances = Distances(spacing=row[0], chain=row[1], cross=row[2], fifth=row[3])
    spans = least_spans(300, distances, 300_000)
    assert {gaps: int(spans[gaps]) for gaps in expected} == expected


def test_the_order_of_questions_changes_no_span() -> None:
    distances = Distances(spacing=9, chain=3, cross=2, fifth=1)
    small_first = [least_spans(longest, distances, 5_000).tolist() for longest in (20, 90, 400)]
    other = [least_spans(longest, distances, 5_001).tolist() for longest in (400, 90, 20)]
    assert small_first == other[::-1]


def plain(name: str) -> Any:
    """Return a function of the search as plain Python, with all that it calls."""
    source = inspect.getsource(bounds_search).replace("@compiled\n", "")
    module = ModuleType("plain_bounds_search")
    exec(compile(source, "plain", "exec"), module.__dict__)  # noqa: S102 - our own source
    return getattr(module, name)


@pytest.mark.parametrize(
    ("gaps", "spans", "row"),
    [
        (4, (0, 14, 32, 46), (4, 0, 0)),
        (4, (0, 14, 32, 52), (4, 2, 4)),
        (5, (0, 1, 3, 6, 11), (1, 1, 0)),
        (4, (0, 2, 4, 7), (0, 2, 3)),
    ],
)
def test_compiled_and_plain_search_agree_step_by_step(
    gaps: int, spans: tuple[int, ...], row: tuple[int, int, int]
) -> None:
    least, guards = np.array(spans, dtype=np.int64), np.array(row, dtype=np.int64)
    twin = plain("span_holds")
    for span in range(spans[-1] + 1, spans[-1] + 40):
        for most in (3, 10_000):
            assert span_holds(gaps, span, least, guards, most) == twin(
                gaps, span, least, guards, most
            )


def test_a_search_cut_short_says_so() -> None:
    least, guards = np.array([0, 1, 3, 6, 11]), np.array([1, 1, 0])
    assert span_holds(5, 16, least, guards, 10**6)[0] == NONE
    assert span_holds(5, 16, least, guards, 5) == (OPEN, 5)


def test_a_window_at_the_end_of_a_span_holds_few() -> None:
    """Ends count: the bound with least spans is below that with positions alone."""
    unit = Distances(spacing=4, chain=1, cross=1)
    low, high = np.array([0, 400, 800]), np.array([150, 550, 950])
    least = least_differences(low, high, 4, (1, False))
    limit = pair_bound(least.size)
    tight = sliding_bound((low, high), least, least_spans(1000, unit, 100_000), limit)
    crowded = np.append(np.zeros(1, dtype=np.int64), np.arange(4, 400))
    assert tight <= sliding_bound((low, high), least, crowded, limit) < limit


def test_fixed_that_make_no_products_are_not_counted_as_members() -> None:
    """Receivers to protect that make no products leave room for products of the new ones."""
    row = GuardSet(spacing_hz=1, guard_2a_b_hz=1, guard_a_b_c_hz=1)
    silent = tuple(
        PlacedCarrier(frequency_hz=hz, guards=row, source=False) for hz in (50, 51, 52, 53)
    )
    grid = Grid(origin_hz=0, step_hz=1, windows_hz=((0, 6),))
    found = count_fit(grid, row, fixed=silent).carriers_hz
    assert len(found) == 4
    assert bound(((0, 6),), row, fixed=silent) == 8
