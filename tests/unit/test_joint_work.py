"""The joint choice does no work that decides nothing, and chooses the same."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import pytest

from planner.joint import choose, choose_after
from planner.joint.stops import Stops
from tests.unit.builders import stop
from tests.unit.joint_cases import Case, windows_of
from tests.unit.test_joint import NEEDS, room

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.coordination.tasks import StopTask
    from planner.joint import Question

Ranges = dict[str, tuple[str, ...]]


def asked(question: Question, *, told_later: bool) -> tuple[Question, list[Ranges]]:
    """Return the question with a list of the combinations whose retunes it was asked for."""
    asked_for: list[Ranges] = []

    def retunes(ranges: Mapping[str, tuple[str, ...]]) -> tuple[int, int]:
        asked_for.append(dict(ranges))
        return question.retunes(ranges)

    return dataclasses.replace(question, retunes=retunes, told_later=told_later), asked_for


def case(rooms: tuple[int, ...]) -> Case:
    rows = [room(470_100_000 + 6_000_000 * k, n, family=f"F{k}") for k, n in enumerate(rooms)]
    windows = {(row.key, "a"): windows_of(((row.low_hz, row.high_hz),)) for row in rows}
    return Case(needs=(NEEDS[0],), stops=(stop(id="a"),), gear=tuple(rows), windows=windows)


@pytest.mark.parametrize(
    ("rooms", "counted"), [((7, 6, 5), (1, 2)), ((6, 6, 5), (0, 1, 2)), ((7, 5, 5), (1, 2))]
)
def test_retunes_of_a_sole_best_are_left_to_its_route(
    rooms: tuple[int, ...], counted: tuple[int, ...]
) -> None:
    whole, all_asked = asked(case(rooms).question(), told_later=False)
    later, few_asked = asked(case(rooms).question(), told_later=True)
    first, second = choose(whole), choose(later)
    assert [row.ranges for row in second.combinations] == [row.ranges for row in first.combinations]
    assert [row.merit for row in second.combinations] == [row.merit for row in first.combinations]
    assert second.combinations[1:] == first.combinations[1:]
    assert len(all_asked) == len(rooms)
    keys = [row.key for row in case(rooms).gear]
    assert [keys.index(row["vocals"][0]) for row in few_asked] == list(counted)


def test_a_better_choice_that_an_earlier_plan_displaces_is_told_with_its_retunes() -> None:
    rows = case((7, 6, 5)).gear
    whole, _ = asked(case((7, 6, 5)).question(), told_later=False)
    later, few = asked(case((7, 6, 5)).question(), told_later=True)
    earlier = {"vocals": (rows[1].key,)}
    first, second = choose_after(whole, earlier), choose_after(later, earlier)
    assert second.better is not None
    assert second == first
    assert {"vocals": (rows[0].key,)} in few


def test_stops_that_the_bounds_leave_open_come_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """At a the bound shows a shortage already; at b and c only a search can, b is on hold."""
    monkeypatch.setattr("planner.joint.stops.cores", lambda: 1)  # two cores look ahead
    row = room(470_100_000, 9)
    four, five, six = (windows_of(((470_100_000, 470_100_000 + n * 350_000),)) for n in (2, 4, 5))
    stops = (stop(id="a"), stop(id="b", status="hold"), stop(id="c"), stop(id="d"))
    windows = {(row.key, "a"): four, (row.key, "b"): five, (row.key, "c"): six}
    windows[row.key, "d"] = five
    question = Case(needs=(NEEDS[0],), stops=stops, gear=(row,), windows=windows).question()
    seen: list[str] = []

    def task(index: int, ranges: Mapping[str, tuple[str, ...]]) -> StopTask:
        seen.append(stops[index].id)
        return question.task(index, ranges)

    ranges: Ranges = {"vocals": (row.key,)}
    follow = Stops(dataclasses.replace(question, task=task), "quick").follow
    found = follow(ranges, None)
    assert seen == ["d", "c", "b", "a"]
    assert [found[k]["vocals"] >= 0 for k in range(4)] == [False, True, True, True]
    # what is found at a lowers the worst headroom, but three stops met are fewer than four
    seen.clear()
    assert follow(ranges, (3, 4, 0)) == {}
    assert seen == []
