"""Carriers of different times and zones, against a brute-force reading of the definitions."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from planner.coordination import (
    Choice,
    Company,
    Grid,
    Group,
    GuardSet,
    Order,
    PlacedCarrier,
    coordinate,
    kernel,
    nearest_products,
    require_sound,
    violations,
)
from planner.coordination.search import Scan, Search

if TYPE_CHECKING:
    from collections.abc import Sequence

ZONES = ("stage", "yard", "hall")
NOWHERE = Grid(origin_hz=0, step_hz=1, windows_hz=())


def guard_sets() -> st.SearchStrategy[GuardSet]:
    return st.builds(
        GuardSet,
        spacing_hz=st.integers(0, 6),
        guard_2a_b_hz=st.integers(0, 4),
        guard_a_b_c_hz=st.integers(0, 4),
        guard_3a_2b_hz=st.integers(0, 3),
    )


def companies() -> st.SearchStrategy[Company]:
    zones = st.sampled_from(ZONES)
    sources = st.one_of(st.tuples(zones, zones), st.tuples(zones, zones, zones))
    return st.builds(
        Company,
        groups=st.lists(
            st.builds(Group, hours=st.integers(1, 7), zone=zones), min_size=3, max_size=3
        ).map(tuple),
        unheard=st.frozensets(
            st.tuples(zones, sources.map(lambda row: tuple(sorted(row)))), max_size=8
        ),
        separations_hz=st.lists(
            st.tuples(st.integers(0, 2), st.integers(0, 2), st.integers(0, 9)), max_size=2
        ).map(tuple),
    )


def carriers(*, sources: st.SearchStrategy[bool]) -> st.SearchStrategy[PlacedCarrier]:
    return st.builds(
        PlacedCarrier,
        frequency_hz=st.integers(0, 60),
        guards=guard_sets(),
        source=sources,
        group=st.integers(0, 2),
    )


def orders() -> st.SearchStrategy[list[Order]]:
    def make(rows: Sequence[tuple[GuardSet, int, int, int]]) -> list[Order]:
        return [
            Order(
                name=f"need {number}",
                choices=(
                    Choice(
                        range_key="r",
                        guards=guards,
                        grid=Grid(origin_hz=0, step_hz=1, windows_hz=((low, low + 40),)),
                        spare_grid=NOWHERE,
                    ),
                ),
                count=count,
                group=group,
            )
            for number, (guards, group, low, count) in enumerate(rows)
        ]

    row = st.tuples(guard_sets(), st.integers(0, 2), st.integers(0, 20), st.integers(0, 4))
    return st.lists(row, min_size=1, max_size=3).map(make)


def counts(company: Company, victim: PlacedCarrier, sources: Sequence[PlacedCarrier]) -> bool:
    groups = [company.groups[carrier.group] for carrier in (victim, *sources)]
    slots = [{slot for slot in range(3) if group.hours >> slot & 1} for group in groups]
    if not set.intersection(*slots):
        return False
    heard_from = tuple(sorted(group.zone for group in groups[1:]))
    return (groups[0].zone, heard_from) not in company.unheard


def is_broken(everyone: Sequence[PlacedCarrier], company: Company, member: int) -> bool:
    """Say whether a carrier takes part in any violation, straight from the definitions."""
    places = range(len(everyone))
    if any(
        member in pair and too_near(everyone[pair[0]], everyone[pair[1]], company)
        for pair in itertools.combinations(places, 2)
    ):
        return True
    for *sources, v in (*itertools.permutations(places, 3), *itertools.permutations(places, 4)):
        senders = [everyone[k] for k in sources]
        if member not in {*sources, v} or not all(carrier.source for carrier in senders):
            continue
        if disturbs(senders, everyone[v]) and counts(company, everyone[v], senders):
            return True
    return False


def too_near(one: PlacedCarrier, two: PlacedCarrier, company: Company) -> bool:
    if not company.groups[one.group].hours & company.groups[two.group].hours:
        return False
    groups = sorted((one.group, two.group))
    least_hz = max(
        1 if one.source or two.source else 0,
        one.guards.spacing_hz,
        two.guards.spacing_hz,
        *(hz for a, b, hz in company.separations_hz if sorted((a, b)) == groups),
    )
    return abs(one.frequency_hz - two.frequency_hz) < least_hz


def disturbs(senders: Sequence[PlacedCarrier], victim: PlacedCarrier) -> bool:
    hz, guards = [carrier.frequency_hz for carrier in senders], victim.guards
    if len(hz) == 3:
        return abs(hz[0] + hz[1] - hz[2] - victim.frequency_hz) < guards.guard_a_b_c_hz
    return (
        abs(2 * hz[0] - hz[1] - victim.frequency_hz) < guards.guard_2a_b_hz
        or abs(3 * hz[0] - 2 * hz[1] - victim.frequency_hz) < guards.guard_3a_2b_hz
    )


@settings(max_examples=120, deadline=None)
@given(
    asked=orders(),
    fixed=st.lists(carriers(sources=st.booleans()), max_size=3),
    company=companies(),
)
def test_free_centres_are_those_where_a_carrier_would_break_nothing(
    asked: list[Order], fixed: list[PlacedCarrier], company: Company
) -> None:
    search = Search(asked, fixed, company=company)
    board = search.begin()
    search.fill(board, scan=Scan(), needs=range(len(asked)))
    standing = [
        PlacedCarrier(
            frequency_hz=chosen.frequency_hz,
            guards=asked[need].choices[0].guards,
            group=asked[need].group,
        )
        for need, found in enumerate(search.carriers(board))
        for chosen, _ in found
    ]
    everyone = [*standing, *fixed]
    for number, row in enumerate(search.rows):
        begin = int(board.rows[number, kernel.BEGIN])
        for k, hz in enumerate(row.points_hz.tolist()):
            new = PlacedCarrier(
                frequency_hz=hz, guards=row.choice.guards, group=asked[row.need].group
            )
            free = board.cover[begin + k] == 0
            assert free == (not is_broken([new, *everyone], company, 0))


@settings(max_examples=80, deadline=None)
@given(
    asked=orders(),
    fixed=st.lists(carriers(sources=st.booleans()), max_size=3),
    company=companies(),
)
def test_a_stop_in_company_is_sound_by_brute_force_and_by_the_verifier(
    asked: list[Order], fixed: list[PlacedCarrier], company: Company
) -> None:
    answer = coordinate(asked, fixed, company=company, effort="quick")
    chosen = [
        PlacedCarrier(
            frequency_hz=carrier.frequency_hz,
            guards=order.choices[0].guards,
            group=order.group,
        )
        for order, filled in zip(asked, answer.filled, strict=True)
        for carrier in filled.carriers
    ]
    require_sound(chosen, fixed, company)
    everyone = [*chosen, *fixed]
    assert not any(is_broken(everyone, company, member) for member in range(len(chosen)))


@settings(max_examples=80, deadline=None)
@given(
    everyone=st.lists(carriers(sources=st.just(value=True)), min_size=2, max_size=5),
    company=companies(),
)
def test_the_verifier_finds_a_violation_exactly_where_there_is_one(
    everyone: list[PlacedCarrier], company: Company
) -> None:
    alone = {carrier.frequency_hz for carrier in everyone}
    if len(alone) < len(everyone):
        return  # two on one hertz without spacing: no violation to the verifier
    broken = any(is_broken(everyone, company, member) for member in range(len(everyone)))
    assert bool(violations(everyone, company)) == broken


@settings(max_examples=80, deadline=None)
@given(
    everyone=st.lists(carriers(sources=st.booleans()), min_size=3, max_size=5), company=companies()
)
def test_the_nearest_product_is_one_that_counts(
    everyone: list[PlacedCarrier], company: Company
) -> None:
    for place, found in enumerate(nearest_products(everyone, company)):
        victim, offsets = everyone[place], []
        others = [k for k in range(len(everyone)) if k != place and everyone[k].source]
        for many, allowed in ((2, victim.guards.guard_2a_b_hz), (3, victim.guards.guard_3a_2b_hz)):
            for a, b in itertools.permutations(others, 2) if allowed else ():
                if counts(company, victim, (everyone[a], everyone[b])):
                    product_hz = many * everyone[a].frequency_hz
                    product_hz -= (many - 1) * everyone[b].frequency_hz
                    offsets.append(abs(product_hz - victim.frequency_hz))
        for a, b, c in itertools.permutations(others, 3) if victim.guards.guard_a_b_c_hz else ():
            if counts(company, victim, (everyone[a], everyone[b], everyone[c])):
                product_hz = everyone[a].frequency_hz + everyone[b].frequency_hz
                product_hz -= everyone[c].frequency_hz
                offsets.append(abs(product_hz - victim.frequency_hz))
        assert (abs(found.offset_hz) if found else None) == min(offsets, default=None)


def test_carriers_never_on_together_may_share_a_frequency() -> None:
    company = Company(groups=(Group(hours=1), Group(hours=2)))
    guards = GuardSet(spacing_hz=5, guard_2a_b_hz=2)
    grid = Grid(origin_hz=0, step_hz=1, windows_hz=((10, 10),))
    choice = Choice(range_key="r", guards=guards, grid=grid, spare_grid=NOWHERE)
    asked = [
        Order(name="afternoon", choices=(choice,), count=1, group=0),
        Order(name="evening", choices=(choice,), count=1, group=1),
    ]
    answer = coordinate(asked, company=company)
    assert [filled.missing for filled in answer.filled] == [0, 0]
    together = coordinate(asked, company=Company(groups=(Group(), Group())))
    assert sum(filled.missing for filled in together.filled) == 1
