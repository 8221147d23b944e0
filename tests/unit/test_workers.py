"""Work shared by threads and with a second process: the same answers, in order, on any machine."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

import pytest

from planner import workers
from tests.unit.builders import gear, need, stop
from tests.unit.planning import document, planned

if TYPE_CHECKING:
    from collections.abc import Iterator

MHZ = 1_000_000


@pytest.fixture(autouse=True)
def no_helper_left() -> Iterator[None]:
    yield
    workers.dismiss_helper()


def with_cores(monkeypatch: pytest.MonkeyPatch, count: int) -> None:
    for name in ("planner.workers.cores", "planner.joint.stops.cores"):
        monkeypatch.setattr(name, lambda: count)


def test_answers_come_in_order(monkeypatch: pytest.MonkeyPatch) -> None:
    with_cores(monkeypatch, 2)
    workers.start_helper()
    asked = list(range(-7, 4))
    assert workers.shared_out(abs, asked) == [abs(n) for n in asked]
    assert workers.side_by_side(abs, asked) == [abs(n) for n in asked]


@pytest.mark.parametrize("items", [[-1, 2, -3], [-1, 2, -3, 4]])
def test_work_of_a_helper_that_dies_is_done_here(
    monkeypatch: pytest.MonkeyPatch, items: list[int]
) -> None:
    with_cores(monkeypatch, 2)
    workers.start_helper()
    helper = workers.helper()
    assert helper is not None
    helper.submit(os._exit, 1)
    assert workers.shared_out(abs, items) == [abs(n) for n in items]
    assert workers.helper() is None


def test_one_core_starts_no_helper(monkeypatch: pytest.MonkeyPatch) -> None:
    with_cores(monkeypatch, 1)
    workers.start_helper()
    assert workers.helper() is None


def tight_plan() -> dict[str, Any]:
    """Return a plan of six stops of which each has less room than the needs ask for."""
    stops = [
        stop(id=f"s{n}", exclude_hz=((470_000_000 + n * MHZ, 600_000_000 + n * MHZ),))
        for n in range(6)
    ]
    needs = [
        need(name=name, lines=tuple(f"{name} {k}" for k in range(count)), count=count)
        for name, count in (("vocals", 12), ("band", 10))
    ]
    ranges = [
        gear(),
        gear(family="other", low_hz=540_000_000, high_hz=608_000_000),
    ]
    return document(planned(stops=stops, needs=needs, ranges=ranges))


def test_a_plan_is_the_same_on_one_core_and_on_two(monkeypatch: pytest.MonkeyPatch) -> None:
    with_cores(monkeypatch, 1)
    alone = tight_plan()
    with_cores(monkeypatch, 2)
    workers.start_helper()
    assert workers.helper() is not None
    assert tight_plan() == alone
    assert workers.helper() is not None
    stops = alone["stops"]
    assert any(row["short"] for row in stops)
    assert any(row["channel_losses"] for row in stops)
    assert any(row["retunes"]["lines"] for row in stops)
