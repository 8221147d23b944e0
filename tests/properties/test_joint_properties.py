"""The joint choice against trying everything; bounds of combinations and of retunes."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.coordination.route import coordinate_route
from planner.joint import KEPT, choose, options
from planner.joint.stops import Stops
from planner.plan.retunes import RetuneCounter
from tests.unit.builders import gear, need, stop
from tests.unit.joint_cases import Case, windows_of

if TYPE_CHECKING:
    from tests.unit.joint_cases import Spans

SEARCH = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
STEP_HZ = 50_000
LOW_HZ = 470_100_000


@st.composite
def spans(draw: st.DrawFn, most: int) -> Spans:
    """Up to two spans of carrier centres within the lowest 2 MHz of the band."""
    found = []
    for _ in range(draw(st.integers(0, most))):
        low = LOW_HZ + STEP_HZ * draw(st.integers(0, 30))
        found.append((low, low + STEP_HZ * draw(st.integers(0, 20))))
    return tuple(sorted(found))


@st.composite
def cases(draw: st.DrawFn, *, share: bool | None = None) -> Case:
    """Two needs; two to four ranges each, all in the same spectrum; two to four stops.

    With ``share`` both needs are of one role, so that they may stand on one and the same range.
    """
    one_role = draw(st.booleans()) if share is None else share
    stops = tuple(
        stop(id=f"s{i}", status=draw(st.sampled_from(("confirmed", "confirmed", "hold"))))
        for i in range(draw(st.integers(2, 4)))
    )
    mics, ears = draw(st.integers(1, 4)), draw(st.integers(1, 3))
    needs = (
        need(
            lines=tuple("ABCD"[:mics]),
            count=mics,
            spares=draw(st.integers(0, 1)),
            ranges_max=draw(st.integers(1, 2)),
        ),
        need(
            name="ears",
            role="mic" if one_role else "in-ear",
            lines=tuple("ABC"[:ears]),
            count=ears,
            spares=draw(st.integers(0, 2)),
            stops=draw(st.sampled_from(((), (stops[0].id,)))),
        ),
    )
    ranges = tuple(
        gear(
            family=f"{role}{number}",
            role=role,
            step_hz=STEP_HZ,
            spacing_hz=draw(st.sampled_from((300_000, 400_000))),
            guard_a_b_c_hz=draw(st.sampled_from((0, 100_000))),
            available=draw(st.sampled_from((None, None, None, 3))),
        )
        for role in (("mic",) if one_role else ("mic", "in-ear"))
        for number in range(draw(st.integers(2, 4)))
    )
    return Case(
        needs=needs,
        stops=stops,
        gear=ranges,
        windows={
            (row.key, here.id): windows_of(draw(spans(2)), draw(spans(1)))
            for row in ranges
            for here in stops
        },
        owned={row.key: draw(st.sampled_from((0, 0, 2))) for row in ranges},
    )


@SEARCH
@given(case=cases())
def test_the_first_combinations_are_those_of_trying_everything(case: Case) -> None:
    """Same ranges, merit, retunes and order; so nothing is left out that could be among them."""
    question = case.question()
    quick, whole = choose(question, effort="quick"), choose(question, effort="quick", prune=False)
    assert whole.possible == len(whole.combinations) == whole.tried
    first = [(row.ranges, row.merit, row.retunes) for row in quick.combinations]
    assert first == [
        (row.ranges, row.merit, row.retunes) for row in whole.combinations[: len(first)]
    ]
    assert len(first) >= min(KEPT, whole.possible)
    assert quick.found == whole.found
    assert [row.rank for row in quick.combinations] == list(range(1, len(first) + 1))


@SEARCH
@given(case=cases())
def test_combinations_come_by_stops_met_worst_headroom_retunes_owned(case: Case) -> None:
    """The order is made again from the headrooms that each combination tells."""
    held = {row.id for row in case.stops if row.status == "hold"}
    keys = []
    for row in choose(case.question(), effort="quick", prune=False).combinations:
        met = {name for name, heads in row.headrooms.items() if all(n >= 0 for n in heads.values())}
        worst = min(n for heads in row.headrooms.values() for n in heads.values())
        assert (row.stops_met, row.confirmed_met) == (len(met), len(met - held))
        assert min(row.worst_headroom.values()) == worst
        assert row.retunes_bound <= row.retunes
        keys.append((-len(met - held), -len(met), -worst, row.retunes))
    assert keys == sorted(keys)


@SEARCH
@given(case=cases())
def test_what_is_found_never_exceeds_the_bounds(case: Case) -> None:
    """At each stop, and for the merit however many stops were searched already."""
    question = case.question()
    stops = Stops(question, "glance")
    sets = [options(row, question.ranking[row.name]) for row in question.needs]
    for chosen in itertools.product(*sets):
        ranges = {row.name: keys for row, keys in zip(question.needs, chosen, strict=True)}
        limits = stops.limits(ranges)
        found = stops.follow(ranges, None)
        assert set(found) == set(range(len(case.stops)))
        for index, heads in found.items():
            assert set(heads) == set(limits[index])
            assert min(heads.values()) <= min(limits[index].values())
        real = stops.merit(ranges, {}, found)
        for known in range(len(case.stops)):
            part = {index: found[index] for index in range(known)}
            assert stops.merit(ranges, limits, part) >= real


@SEARCH
@given(case=cases(), rigs=st.lists(st.sampled_from("AB"), min_size=4, max_size=4))
def test_retunes_are_those_of_the_carriers_and_never_fewer_than_the_bound(
    case: Case, rigs: list[str]
) -> None:
    """Counted again name by name from the route."""
    ranges = {
        row.name: tuple(g.key for g in case.gear if g.role == row.role)[: row.ranges_max]
        for row in case.needs
    }
    tasks = []
    for index in range(len(case.stops)):
        task = case.task(index, ranges)
        tasks.append(type(task)(stop_id=task.stop_id, rig=rigs[index], needs=task.needs))
    route = coordinate_route(tasks, effort="glance")
    rows = RetuneCounter().count(tasks, route)
    last: dict[tuple[str, str, str], tuple[str, int, float | None]] = {}
    for task, here, row in zip(tasks, route.stops, rows, strict=True):
        moved = []
        for (name, line), use in here.carriers.items():
            now = (use.range_key, use.frequency_hz, use.power_mw)
            if last.get((task.rig, name, line), now) != now:
                moved.append(line)
            last[task.rig, name, line] = now
        spares = sum(" spare " in line for line in moved)
        assert (row.lines, row.spares) == (len(moved) - spares, spares)
        assert row.units == row.lines
        assert 0 <= row.forced <= len(moved)
        assert row.bound <= row.lines
