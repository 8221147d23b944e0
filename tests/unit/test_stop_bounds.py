"""Limits of many needs at one stop, on cases worked by hand."""

from __future__ import annotations

from planner.coordination import (
    Choice,
    Company,
    Grid,
    Group,
    GuardSet,
    Order,
    PlacedCarrier,
    coordinate,
    stop_limits,
    violations,
)

NOWHERE = Grid(origin_hz=0, step_hz=1, windows_hz=())
WIDE = GuardSet(spacing_hz=100)


def order(
    name: str,
    windows: tuple[tuple[int, int], ...],
    *,
    count: int,
    spares: int = 0,
    guards: GuardSet = WIDE,
    spare_windows: tuple[tuple[int, int], ...] = (),
    most: int | None = None,
    group: int = 0,
) -> Order:
    grid = Grid(origin_hz=0, step_hz=1, windows_hz=windows)
    choice = Choice(
        range_key=name,
        guards=guards,
        grid=grid,
        spare_grid=Grid(origin_hz=0, step_hz=1, windows_hz=spare_windows),
        most=most,
    )
    return Order(name=name, choices=(choice,), count=count, spares=spares, group=group)


def test_each_fits_alone_but_not_together() -> None:
    one, two = order("a", ((0, 300),), count=3), order("b", ((0, 300),), count=3)
    found = stop_limits([one, two])
    assert [(limit.needs, limit.limit) for limit in found.carriers] == [
        (("a",), 3),
        (("b",), 3),
        (("a", "b"), 4),
    ]
    assert (found.missing, found.missing_lines) == (2, 2)
    assert [limit.needs for limit in found.carriers_proof] == [("a", "b")]


def test_shortages_of_needs_apart_add_up() -> None:
    orders = [
        order("a", ((0, 100),), count=4),
        order("b", ((900, 1000),), count=3),
        order("c", ((5000, 9000),), count=2),
    ]
    found = stop_limits(orders)
    assert found.missing == 3
    assert sum(limit.missing for limit in found.carriers_proof) == 3
    assert not {"c"} & {name for limit in found.carriers_proof for name in limit.needs}


def test_the_larger_spacing_governs_between_needs() -> None:
    """Spacings of 100 and 400: two wide ones and two narrow ones span 400 + 400 + 100 at least."""
    wide = GuardSet(spacing_hz=400)
    orders = [
        order("narrow", ((0, 500),), count=2),
        order("wide", ((0, 500),), count=2, guards=wide),
    ]
    found = stop_limits(orders)
    # by the least spacing alone six would fit
    assert found.carriers[2].limit == 3
    assert sum(filled.missing for filled in coordinate(orders).filled) >= found.missing


def test_lines_may_not_stand_where_only_spares_may() -> None:
    found = stop_limits([order("a", ((0, 100),), count=3, spares=1, spare_windows=((200, 500),))])
    assert (found.missing_lines, found.missing) == (1, 0)


def test_pieces_of_gear_are_a_limit_too() -> None:
    assert stop_limits([order("a", ((0, 1000),), count=5, most=3)]).missing == 2


def test_fixed_carriers_close_centres_and_count_as_members() -> None:
    row = GuardSet(spacing_hz=1, guard_2a_b_hz=1, guard_a_b_c_hz=1)
    # a ruler of four and no room for a fifth mark within its length
    fixed = tuple(PlacedCarrier(frequency_hz=hz, guards=row) for hz in (0, 1, 4, 6))
    found = stop_limits([order("a", ((2, 5),), count=1, guards=row)], fixed)
    assert found.missing == 1


def test_fixed_carriers_side_by_side_are_no_members() -> None:
    """Ten at 1000 to 1009 that nobody protects: their differences from 0 lie side by side."""
    row = GuardSet(spacing_hz=40, guard_2a_b_hz=11, guard_a_b_c_hz=11)
    near = GuardSet(spacing_hz=0)
    fixed = [PlacedCarrier(frequency_hz=hz, guards=near) for hz in range(1000, 1010)]
    marks = (0, 40, 100, 185)
    assert not violations([*fixed, *(PlacedCarrier(frequency_hz=hz, guards=row) for hz in marks)])
    wanted = order("a", tuple((hz, hz) for hz in marks), count=4, guards=row)
    assert stop_limits([wanted], fixed).missing == 0


def test_unprotected_carriers_are_sources_for_the_protected_ones() -> None:
    """Differences keep apart but among the carriers that nobody protects from A+B-C."""
    strict = GuardSet(spacing_hz=14, guard_2a_b_hz=4, guard_a_b_c_hz=4)
    loose = GuardSet(spacing_hz=14, guard_2a_b_hz=4)
    span = ((0, 1000),)
    alone = stop_limits([order("a", span, count=60, guards=strict)]).carriers[0].limit
    mixed = [
        order("a", span, count=60, guards=strict),
        order("b", span, count=4, guards=loose),
    ]
    both = stop_limits(mixed).carriers[2].limit
    # without differences the limit of 64 would be that of spacing and 2A-B, above 50
    assert alone <= both <= alone + 4 < 30


def test_pairs_of_unprotected_carriers_are_allowed_for() -> None:
    """Nine carriers that stand: eight side by side, unprotected, and a protected one far off."""
    strict = GuardSet(spacing_hz=1, guard_2a_b_hz=1, guard_a_b_c_hz=1)
    loose = GuardSet(spacing_hz=1)
    orders = [
        order("loose", ((0, 7),), count=8, guards=loose),
        order("strict", ((30, 30),), count=1, guards=strict),
    ]
    placed = [PlacedCarrier(frequency_hz=hz, guards=loose) for hz in range(8)]
    assert not violations([*placed, PlacedCarrier(frequency_hz=30, guards=strict)])
    assert stop_limits(orders).missing == 0


def test_company_decides_what_has_a_common_limit() -> None:
    orders = [
        order("a", ((0, 300),), count=4, group=0),
        order("b", ((0, 300),), count=4, group=1),
    ]
    apart = Company(groups=(Group(hours=1), Group(hours=2)))
    assert stop_limits(orders, (), apart).missing == 0
    meeting = Company(groups=(Group(hours=3), Group(hours=2)))
    assert stop_limits(orders, (), meeting).missing == 4


def test_products_left_out_between_zones_bound_nothing() -> None:
    row = GuardSet(spacing_hz=1, guard_2a_b_hz=3, guard_a_b_c_hz=3)
    orders = [
        order("a", ((0, 1),), count=2, guards=row, group=0),
        order("b", ((2, 3),), count=2, guards=row, group=1),
    ]
    groups = (Group(zone="stage"), Group(zone="car park"))
    assert stop_limits(orders, (), Company(groups=groups)).missing > 0
    unheard = frozenset({("stage", ("car park", "stage"))})
    assert stop_limits(orders, (), Company(groups=groups, unheard=unheard)).missing == 0


def test_more_than_six_needs_give_singles_pairs_and_all() -> None:
    orders = [order(f"n{k}", ((0, 500),), count=2) for k in range(8)]
    found = stop_limits(orders)
    assert len(found.carriers) == 8 + 28 + 1
    assert found.missing == 16 - 6


def test_many_needs_take_the_largest_or_the_sum_of_single_ones() -> None:
    orders = [order(f"n{k}", ((1000 * k, 1000 * k + 100),), count=3) for k in range(11)]
    assert stop_limits(orders).missing == 11
