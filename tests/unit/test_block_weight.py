"""A wideband block that is missing weighs as many carriers as it holds links."""

from __future__ import annotations

import pytest

from planner.coordination import Choice, Effort, Grid, GuardSet, coordinate
from planner.coordination.records import Order
from planner.coordination.route import coordinate_route
from planner.coordination.stop_sets import orders_of
from planner.coordination.tasks import NeedTask, StopTask

MHZ = 1_000_000
MICS = GuardSet(spacing_hz=400_000)
BLOCK = GuardSet(spacing_hz=6 * MHZ)
NOWHERE = Grid(origin_hz=0, step_hz=25_000, windows_hz=())


def choice(key: str, guards: GuardSet, *spans_mhz: tuple[float, float]) -> Choice:
    """Return a range with these centres on whole 0.1 MHz."""
    windows_hz = tuple((round(low * MHZ), round(high * MHZ)) for low, high in spans_mhz)
    grid = Grid(origin_hz=0, step_hz=100_000, windows_hz=windows_hz)
    return Choice(range_key=key, guards=guards, grid=grid, spare_grid=NOWHERE)


def stop(
    name: str,
    *,
    links: int,
    wide: tuple[tuple[float, float], ...] = ((470, 476),),
    spare: bool = False,
) -> StopTask:
    """Return a stop with three microphones, and a block in a place that they share."""
    mics = NeedTask(
        name="mics", choices=(choice("mics", MICS, *wide),), lines=("1", "2", "3"), spares=()
    )
    block = NeedTask(
        name="pack",
        choices=(choice("pack", BLOCK, (473, 473)),),
        lines=() if spare else ("block 1",),
        spares=("block 1",) if spare else (),
        holds={"block 1": tuple(f"link {k}" for k in range(links))},
    )
    return StopTask(stop_id=name, rig="A", needs=(mics, block))


@pytest.mark.parametrize("effort", ["quick", "normal", "long"])
def test_a_tight_stop_gives_up_a_carrier_or_two_before_a_block_of_twelve(effort: Effort) -> None:
    plan = coordinate_route([stop("tight", links=12)], effort=effort)
    assert plan.stops[0].missing == {"mics": 3}
    assert ("pack", "block 1") in plan.stops[0].carriers


@pytest.mark.parametrize("effort", ["quick", "normal", "long"])
def test_a_block_of_two_links_gives_way_to_three_carriers(effort: Effort) -> None:
    plan = coordinate_route([stop("tight", links=2)], effort=effort)
    assert plan.stops[0].missing == {"pack": 1}


@pytest.mark.parametrize("effort", ["quick", "normal", "long"])
def test_no_line_is_given_up_for_a_spare_block(effort: Effort) -> None:
    plan = coordinate_route([stop("tight", links=12, spare=True)], effort=effort)
    assert plan.stops[0].missing == {"pack": 1}


@pytest.mark.parametrize("effort", ["quick", "normal", "long"])
def test_moves_saved_do_not_pay_for_a_block(effort: Effort) -> None:
    # the microphones of the roomy stops have only what the block takes at the tight one
    roomy = [stop(name, links=12, wide=((470, 472), (480, 500))) for name in "ac"]
    plan = coordinate_route([roomy[0], stop("tight", links=12), roomy[1]], effort=effort)
    assert [found.missing for found in plan.stops] == [{}, {"mics": 3}, {}]


def test_one_stop_alone_weighs_alike() -> None:
    found = coordinate(orders_of(stop("tight", links=12), {}))
    assert [row.missing for row in found.filled] == [3, 0]
    found = coordinate(orders_of(stop("tight", links=2), {}))
    assert [row.missing for row in found.filled] == [0, 1]


@pytest.mark.parametrize(("limit", "lack"), [(None, 0), (5, 0), (4, 1), (3, 2), (2, 14), (0, 38)])
def test_a_proven_lack_takes_spares_first(limit: int | None, lack: int) -> None:
    order = Order(name="pack", choices=(), count=3, spares=2, links=12, limit=limit)
    assert order.least_lack == lack


def test_an_order_without_a_link_a_carrier_is_refused() -> None:
    with pytest.raises(ValueError, match="links 0"):
        Order(name="mics", choices=(), count=1, links=0)
