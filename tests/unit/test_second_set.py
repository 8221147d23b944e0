"""When spectrum is lost: a second set in other TV channels, and what moves for each channel."""

from __future__ import annotations

import dataclasses
import json
from importlib.resources import files
from typing import Any

import jsonschema
import pytest

from planner.coordination import Choice, Grid, GuardSet, PlacedCarrier
from planner.coordination.names import Use
from planner.coordination.second_set import blocks_of, channel_losses, second_set
from planner.coordination.tasks import NeedTask, StopCarriers, StopTask
from planner.report.views.losses import losses_view
from tests.unit.builders import gear, need, stop
from tests.unit.planning import document, planned

MHZ = 1_000_000
CHANNELS = tuple((k * MHZ, (k + 1) * MHZ) for k in range(3))


def task(windows_hz: tuple[tuple[int, int], ...], lines: tuple[str, ...], **more: Any) -> StopTask:
    """Return a stop of one need on 100 kHz, spacing 300 kHz, in TV channels of 1 MHz."""
    row = NeedTask(
        name="a",
        choices=(
            Choice(
                range_key="r",
                guards=GuardSet(spacing_hz=300_000),
                grid=Grid(origin_hz=0, step_hz=100_000, windows_hz=windows_hz),
                spare_grid=Grid(origin_hz=0, step_hz=100_000, windows_hz=()),
            ),
        ),
        lines=lines,
        spares=("s",),
        half_width_hz={"r": 100_000},
    )
    return StopTask(**{
        "stop_id": "one", "rig": "A", "needs": (row,), "channels_hz": CHANNELS, **more,
    })  # fmt: skip


def carriers(**names_hz: int) -> StopCarriers:
    uses = {("a", name): Use(range_key="r", frequency_hz=hz) for name, hz in names_hz.items()}
    return StopCarriers(stop_id="one", carriers=uses, missing={})


WHOLE = tuple((low + 100_000, high - 100_000) for low, high in CHANNELS)


def test_blocks_are_channels_and_outside_them_windows() -> None:
    wide = task((*WHOLE, (5 * MHZ, 6 * MHZ)), ("x", "y"))
    found = blocks_of(wide, carriers(x=500_000, y=5_500_000).carriers)
    assert found == ((0, MHZ), (4_900_000, 6_100_000))


def test_a_lost_line_moves_and_nobody_else() -> None:
    here = carriers(x=500_000, y=1_500_000, s=2_500_000)
    losses = channel_losses(task(WHOLE, ("x", "y")), here)
    assert [loss.lost for loss in losses] == [(("a", name),) for name in "xys"]
    for loss in losses:
        assert set(loss.moves) == set(loss.lost)
        assert loss.missing == ()


def test_a_line_takes_the_carrier_of_a_spare_before_it_goes_without() -> None:
    two = task(((500_000, 500_000), (1_500_000, 1_500_000)), ("x",))
    losses = channel_losses(two, carriers(x=500_000, s=1_500_000))
    assert losses[0].moves == {("a", "x"): Use(range_key="r", frequency_hz=1_500_000)}
    assert losses[0].missing == (("a", "s"),)
    assert losses[1].missing == (("a", "s"),)


def test_others_move_only_where_a_line_would_go_without() -> None:
    # y stands in the middle of the only other window, so that x has no place beside it
    tight = task(((500_000, 500_000), (1_300_000, 1_700_000)), ("x", "y"))
    here = carriers(x=500_000, y=1_500_000)
    thorough = channel_losses(tight, here)[0]
    assert set(thorough.moves) == {("a", "x"), ("a", "y")}
    assert thorough.missing == ()
    quick = channel_losses(tight, here, thorough=False)[0]
    assert quick.missing == (("a", "x"),)


def test_performers_stay_apart_when_one_carrier_is_lost() -> None:
    first = task(WHOLE, ("x",), separation_hz=1_200_000)
    second = dataclasses.replace(
        first.needs[0], name="b", spares=(), pair_with="a", half_width_hz={"r": 100_000}
    )
    both = dataclasses.replace(
        first, needs=(dataclasses.replace(first.needs[0], spares=()), second)
    )
    here = StopCarriers(
        stop_id="one",
        carriers={
            ("a", "x"): Use(range_key="r", frequency_hz=1_500_000),
            ("b", "x"): Use(range_key="r", frequency_hz=200_000),
        },
        missing={},
    )
    loss = channel_losses(both, here)[1]
    assert abs(loss.moves["a", "x"].frequency_hz - 200_000) >= 1_200_000


def test_fixed_carriers_stay_in_a_lost_channel() -> None:
    fixed = (PlacedCarrier(frequency_hz=2_500_000, guards=GuardSet(spacing_hz=500_000)),)
    here = carriers(x=500_000)
    bare = task(WHOLE, ("x",))
    loss = channel_losses(dataclasses.replace(bare, fixed=fixed), here)[0]
    assert abs(loss.moves["a", "x"].frequency_hz - 2_500_000) >= 500_000


def test_a_second_set_is_complete_partial_or_none() -> None:
    here = carriers(x=500_000, y=200_000, s=800_000)
    whole = second_set(task(WHOLE, ("x", "y")), here)
    assert whole is not None
    assert whole.missing == {}
    assert all(use.frequency_hz > MHZ for use in whole.carriers.values())
    part = second_set(task((WHOLE[0], (1_500_000, 1_500_000)), ("x", "y")), here)
    assert part is not None
    assert part.missing == {"a": 2}
    assert second_set(task(WHOLE[:1], ("x", "y")), here) is None
    assert second_set(task(WHOLE, ("x",)), carriers()) is None


@pytest.fixture(name="plan", scope="module")
def _plan() -> dict[str, Any]:
    """Two channels are open at the first stop, one at the second."""
    stops = [
        stop(id="two", exclude_hz=((482_000_000, 608_000_000),)),
        stop(id="one", lat_deg=39.5, exclude_hz=((476_000_000, 608_000_000),)),
    ]
    rows = [need(lines=tuple(f"Line {k}" for k in range(6)), count=6)]
    return document(planned(stops=stops, needs=rows, ranges=[gear()]))


def test_the_document_says_what_moves_where(plan: dict[str, Any]) -> None:
    two, one = plan["stops"]
    schema = files("planner.plan").joinpath("passband-plan-1.schema.json").read_text("utf-8")
    jsonschema.validate(plan, json.loads(schema))
    used = {row["channel"] for row in two["carriers"]}
    assert [row["channel"] for row in two["channel_losses"]] == sorted(used)
    for row in two["channel_losses"]:
        in_it = {c["name"] for c in two["carriers"] if c["channel"] == row["channel"]}
        assert {name["name"] for name in row["lost"]} == in_it
        for move in row["moves"]:
            assert not row["low_mhz"] < move["to_mhz"] < row["high_mhz"]
    lost = one["channel_losses"]
    assert len(lost) == 1
    assert len(lost[0]["missing"]) == len(one["carriers"])
    assert one["second_set"] is None


def test_the_sheet_says_it_in_words(plan: dict[str, Any]) -> None:
    two, one = plan["stops"]
    assert losses_view(one).second == "Nothing fits in other TV channels than those in use."
    assert losses_view(one).losses[0].lost == "7 of vocals"
    assert losses_view(one).losses[0].moves == ()
    view = losses_view(two)
    assert view.computed
    assert {row.span for row in view.losses} <= {"470–476", "476–482"}  # noqa: RUF001 - the sheets' dash
    assert not losses_view({"carriers": [{}]}).computed


def test_a_second_set_stands_in_other_channels_of_the_document() -> None:
    plan = document(planned(ranges=[gear()]))
    record = plan["stops"][0]
    second = record["second_set"]
    assert second["complete"]
    assert second["missing"] == {}
    assert not {row["channel"] for row in second["carriers"]} & {
        row["channel"] for row in record["carriers"]
    }
    assert [row["name"] for row in second["carriers"]] == [
        row["name"] for row in record["carriers"]
    ]
    view = losses_view(record)
    assert view.second == "Everything fits a second time, in other TV channels than those in use."
    assert len(view.needs[0].carriers) == 3
