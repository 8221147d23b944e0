"""Spares of both grades, cleaner centres, second sets: never unsound, never a carrier less."""

from __future__ import annotations

import dataclasses
import itertools

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner.coordination import Choice, Grid, GuardSet, PlacedCarrier
from planner.coordination.cleanest import cleaned
from planner.coordination.company import Company, Group
from planner.coordination.grades import plan_route, with_stand_ins
from planner.coordination.names import Use, is_retune
from planner.coordination.route import coordinate_route
from planner.coordination.second_set import blocks_of, channel_losses, second_set
from planner.coordination.spare_places import places_for_spares
from planner.coordination.stand_ins import add_stand_ins
from planner.coordination.tasks import NeedTask, RoutePlan, StopCarriers, StopTask
from planner.coordination.verify import violations
from planner.coordination.verify_many import clashes
from tests.properties.coordination_oracle import is_valid

STEP_HZ = 25_000
CHANNELS_HZ = tuple((k * 1_000_000, (k + 1) * 1_000_000) for k in range(4))
HALF_HZ = 50_000
guard_sets = st.sampled_from([(350, 100, 100, 0), (200, 50, 0, 0), (300, 100, 0, 100)])
spans = st.lists(
    st.tuples(st.integers(0, 3), st.integers(0, 30), st.integers(4, 36)), min_size=1, max_size=4
)


def windows(rows: list[tuple[int, int, int]]) -> tuple[tuple[int, int], ...]:
    """Return windows of centres, each inside one channel."""
    found = []
    for channel, first, width in rows:
        low = CHANNELS_HZ[channel][0] + HALF_HZ + first * STEP_HZ
        high = min(low + width * STEP_HZ, CHANNELS_HZ[channel][1] - HALF_HZ)
        if low <= high:
            found.append((low, high))
    return tuple(found)


def choice(
    guards: tuple[int, int, int, int],
    clear: list[tuple[int, int, int]],
    faint: list[tuple[int, int, int]],
) -> Choice:
    """Return a range with guards in kHz."""
    spacing, two, three, five = (1000 * guard for guard in guards)
    return Choice(
        range_key="r",
        guards=GuardSet(
            spacing_hz=spacing, guard_2a_b_hz=two, guard_a_b_c_hz=three, guard_3a_2b_hz=five
        ),
        grid=Grid(origin_hz=0, step_hz=STEP_HZ, windows_hz=windows(clear)),
        spare_grid=Grid(origin_hz=0, step_hz=STEP_HZ, windows_hz=windows(faint)),
    )


@st.composite
def needs(draw: st.DrawFn, *, name: str, stand_in: bool | None = None) -> NeedTask:
    """Draw a need of one to four lines and up to two spares of either grade."""
    lines = tuple(f"{name} {k}" for k in range(draw(st.integers(1, 4))))
    spares = tuple(f"{name} spare {k}" for k in range(draw(st.integers(0, 2))))
    alone = draw(st.booleans()) if stand_in is None else stand_in
    return NeedTask(
        name=name,
        choices=(choice(draw(guard_sets), draw(spans), draw(spans)),),
        lines=lines,
        spares=() if alone else spares,
        stand_ins=spares if alone else (),
        half_width_hz={"r": HALF_HZ},
        powers={"r": ((0, 4_000_000, 50.0),)},
    )


@st.composite
def stops(draw: st.DrawFn, *, stop_id: str = "one") -> StopTask:
    """Draw a stop of one or two needs."""
    found = [draw(needs(name="a"))]
    if draw(st.booleans()):
        found.append(draw(needs(name="b")))
    fixed = draw(st.lists(st.integers(0, 160), max_size=1))
    return StopTask(
        stop_id=stop_id,
        rig="A",
        needs=tuple(found),
        fixed=tuple(
            PlacedCarrier(frequency_hz=k * STEP_HZ, guards=GuardSet(spacing_hz=100_000))
            for k in fixed
        ),
        channels_hz=CHANNELS_HZ,
        rises=tuple((low, high, float(draw(st.integers(0, 40)))) for low, high in CHANNELS_HZ),
    )


def rows_of(
    task: StopTask, carriers: dict[tuple[str, str], Use]
) -> list[tuple[int, tuple[int, int, int, int]]]:
    """Return carriers as the oracle takes them."""
    guards = {need.name: need.choices[0].guards for need in task.needs}
    return [(use.frequency_hz, four(guards[need])) for (need, _), use in carriers.items()]


def four(guards: GuardSet) -> tuple[int, int, int, int]:
    """Return spacing and guards."""
    return guards.spacing_hz, guards.guard_2a_b_hz, guards.guard_a_b_c_hz, guards.guard_3a_2b_hz


def fixed_of(task: StopTask) -> list[tuple[int, tuple[int, int, int, int]]]:
    """Return the fixed carriers as the oracle takes them."""
    return [(row.frequency_hz, four(row.guards)) for row in task.fixed]


def together(stop: StopCarriers) -> dict[tuple[str, str], Use]:
    """Return the carriers that are all on."""
    return {key: use for key, use in stop.carriers.items() if key not in stop.stand_ins}


carriers = st.lists(
    st.builds(
        PlacedCarrier,
        frequency_hz=st.integers(0, 60),
        guards=st.builds(
            GuardSet,
            spacing_hz=st.integers(0, 4),
            guard_2a_b_hz=st.integers(0, 3),
            guard_a_b_c_hz=st.integers(0, 3),
            guard_3a_2b_hz=st.integers(0, 3),
        ),
        source=st.booleans(),
        group=st.integers(0, 2),
    ),
    max_size=7,
)
companies = st.builds(
    Company,
    groups=st.lists(
        st.builds(Group, hours=st.sampled_from([1, 2, 3]), zone=st.sampled_from(["", "far"])),
        min_size=3,
        max_size=3,
    ).map(tuple),
    unheard=st.sampled_from(
        [frozenset(), frozenset({("", ("far", "far"))}), frozenset({("far", ("", "", ""))})]
    ),
    separations_hz=st.sampled_from([(), ((0, 1, 9),)]),
)


@given(rows=carriers, company=companies)
@settings(max_examples=300)
def test_both_verifiers_find_the_same(rows: list[PlacedCarrier], company: Company) -> None:
    named = sorted(tuple(sorted(row.carriers_hz)) for row in violations(rows, company))
    counted = sorted(
        tuple(sorted(rows[k].frequency_hz for k in members)) for members in clashes(rows, company)
    )
    assert named == counted


@given(task=stops())
@settings(max_examples=120, deadline=None)
def test_every_stand_in_fits_in_the_place_of_each_line_it_names(task: StopTask) -> None:
    route = coordinate_route([task], effort="quick")
    stop = with_stand_ins([task], route).stops[0]
    assert {key: stop.carriers[key] for key in route.stops[0].carriers} == route.stops[0].carriers
    base, fixed = together(stop), fixed_of(task)
    for key, lines in stop.stand_ins.items():
        assert lines
        for line in lines:
            others = {k: use for k, use in base.items() if k != (key[0], line)}
            assert is_valid(rows_of(task, {**others, key: stop.carriers[key]}), fixed), (key, line)
    for need in task.needs:
        lacking = [name for name in need.every_name if (need.name, name) not in stop.carriers]
        assert stop.missing.get(need.name, 0) == len(lacking)


@given(need=needs(name="a", stand_in=True))
@settings(max_examples=80, deadline=None)
def test_one_stand_in_covers_as_many_lines_as_any_centre_could(need: NeedTask) -> None:
    task = StopTask(
        stop_id="one",
        rig="A",
        needs=(dataclasses.replace(need, stand_ins=("spare",)),),
        channels_hz=CHANNELS_HZ,
    )
    bare = coordinate_route([task], effort="quick").stops[0]
    assume(bare.carriers)
    stop = add_stand_ins(task, bare)
    guards, grids = need.choices[0].guards, (need.choices[0].grid, need.choices[0].spare_grid)
    most = 0
    for hz in sorted({int(hz) for grid in grids for hz in grid.points()}):
        covered = 0
        for line, use in bare.carriers.items():
            others = {k: u for k, u in bare.carriers.items() if k != line}
            covered += abs(use.frequency_hz - hz) >= guards.spacing_hz and is_valid(
                [*rows_of(task, others), (hz, four(guards))]
            )
        most = max(most, covered)
    assert len(stop.stand_ins.get(("a", "spare"), ())) == most


@given(first=stops(), second=stops(stop_id="two"), third=stops(stop_id="three"))
@settings(max_examples=60, deadline=None)
def test_cleaner_centres_cost_nothing(first: StopTask, second: StopTask, third: StopTask) -> None:
    tasks = [
        dataclasses.replace(
            task,
            needs=tuple(
                dataclasses.replace(need, spares=(*need.spares, *need.stand_ins), stand_ins=())
                for need in task.needs
            ),
        )
        for task in (first, second, third)
    ]
    before = coordinate_route(tasks, effort="quick")
    after = cleaned(tasks, before, effort="long")
    for task, old, new in zip(tasks, before.stops, after.stops, strict=True):
        assert list(old.carriers) == list(new.carriers)
        assert is_valid(rows_of(task, dict(new.carriers)), fixed_of(task))
        mains = {need.name: need.choices[0].grid.points().tolist() for need in task.needs}
        lines = {(need.name, line) for need in task.needs for line in need.lines}
        for key, use in new.carriers.items():
            assert use.power_mw == old.carriers[key].power_mw
            assert key not in lines or use.frequency_hz in mains[key[0]]
    assert retunes(after) <= retunes(before)
    again = cleaned(tasks, before, effort="long")
    assert again == after


def retunes(route: RoutePlan) -> int:
    """Count the names that change from use to use."""
    last: dict[tuple[str, str], Use] = {}
    count = 0
    for stop in route.stops:
        for key, use in stop.carriers.items():
            count += key in last and is_retune(last[key], use)
            last[key] = use
    return count


@given(task=stops())
@settings(max_examples=100, deadline=None)
def test_the_second_set_stands_in_other_channels(task: StopTask) -> None:
    stop = plan_route([task], effort="quick").stops[0]
    used = blocks_of(task, stop.carriers)
    found = second_set(task, stop)
    if found is None:
        return
    assert is_valid(rows_of(task, together(found)), fixed_of(task))
    for use in found.carriers.values():
        assert not any(low <= use.frequency_hz <= high for low, high in used)
    for need in task.needs:
        names = [name for name in need.every_name if (need.name, name) not in found.carriers]
        assert found.missing.get(need.name, 0) == len(names)


@given(task=stops())
@settings(max_examples=100, deadline=None)
def test_a_lost_channel_is_left_and_the_rest_stays_where_it_can(task: StopTask) -> None:
    stop = plan_route([task], effort="quick").stops[0]
    lines = {(need.name, line) for need in task.needs for line in need.lines}
    losses = channel_losses(task, stop)
    assert {(loss.low_hz, loss.high_hz) for loss in losses} == set(blocks_of(task, stop.carriers))
    for loss in losses:
        inside = {
            key
            for key, use in stop.carriers.items()
            if loss.low_hz <= use.frequency_hz <= loss.high_hz
        }
        assert set(loss.lost) == inside
        assert inside <= {*loss.moves, *loss.missing}
        after = {**stop.carriers, **loss.moves}
        left = {
            key: use
            for key, use in after.items()
            if key not in loss.missing and key not in stop.stand_ins
        }
        assert is_valid(rows_of(task, left), fixed_of(task))
        for use in left.values():
            assert not loss.low_hz < use.frequency_hz + HALF_HZ <= loss.high_hz
            assert not loss.low_hz <= use.frequency_hz - HALF_HZ < loss.high_hz
        if not lines & set(loss.missing):
            # lines that were not lost moved only where a lost one would have gone without
            moved = lines & set(loss.moves) - inside
            assert not moved or not _fits_alone(task, stop, loss.lost, (loss.low_hz, loss.high_hz))


def _fits_alone(
    task: StopTask,
    stop: StopCarriers,
    lost: tuple[tuple[str, str], ...],
    block: tuple[int, int],
) -> bool:
    """Say whether the lines lost can all stand again by themselves, looking at all ways."""
    kept = {key: use for key, use in together(stop).items() if key not in lost}
    wanted = [
        key
        for key in lost
        if key not in stop.stand_ins
        and any(key[1] in need.lines for need in task.needs if need.name == key[0])
    ]
    if len(wanted) > 2:
        return False
    needs_by_name = {need.name: need for need in task.needs}
    points = [
        [
            int(hz)
            for hz in needs_by_name[need].choices[0].grid.points()
            if hz + HALF_HZ <= block[0] or hz - HALF_HZ >= block[1]
        ]
        for need, _ in wanted
    ]
    return any(
        is_valid(
            [
                *rows_of(task, kept),
                *rows_of(
                    task,
                    {
                        key: Use(range_key="r", frequency_hz=hz)
                        for key, hz in zip(wanted, place, strict=True)
                    },
                ),
            ],
            fixed_of(task),
        )
        for place in itertools.product(*points)
    )


@given(
    hz=st.lists(st.integers(0, 159), min_size=1, max_size=8, unique=True),
    faint=st.sets(st.integers(0, 7), max_size=2),
    spares=st.integers(0, 4),
)
@settings(max_examples=200)
def test_no_choice_of_spares_shares_fewer_channels(
    hz: list[int], faint: set[int], spares: int
) -> None:
    uses = [
        Use(range_key="r", frequency_hz=k * STEP_HZ + 1, main=place not in faint)
        for place, k in enumerate(sorted(hz))
    ]
    bound = {place for place in faint if place < len(uses)}
    found = places_for_spares(uses, spares, CHANNELS_HZ)
    if not 0 < spares < len(uses) or len(bound) > spares:
        assert found == frozenset()
        return
    assert len(found) == spares
    assert bound <= found
    assert shared(uses, found) == min(
        shared(uses, frozenset(places))
        for places in itertools.combinations(range(len(uses)), spares)
        if bound <= set(places)
    )


def shared(uses: list[Use], spares: frozenset[int]) -> int:
    """Count the pairs of a line and a spare in one channel."""
    channel = [use.frequency_hz // 1_000_000 for use in uses]
    return sum(
        channel[one] == channel[two]
        for one in range(len(uses))
        for two in spares
        if one not in spares
    )
