"""Assigned frequencies: which can be used now, which go back to the coordinator and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from planner.occupancy import Occupancy, compute_windows
from planner.plan.assignments import (
    AssignedPoints,
    assigned_points,
    assignment_rows,
    assignment_warnings,
)
from planner.plan.scope import assigned_at, closed_at
from planner.records import Assigned, Exclude, Other, Settings
from planner.rules import country_rules
from planner.spectrum import IntervalSet
from tests.unit.builders import gear, need, stop, tour
from tests.unit.occupancies import PART_74, by_hand

if TYPE_CHECKING:
    from planner.plan.scope import ClosedSpan
    from planner.records import GearRange

US = country_rules("US")
LICENSED = by_hand(licences=(PART_74,))


def given(*mhz: float, **more: Any) -> Assigned:
    values: dict[str, Any] = {
        "stop": "here",
        "need": "vocals",
        "frequencies_hz": tuple(round(f * 1e6) for f in mhz),
    }
    return Assigned(**{**values, **more})


def judged(
    *rows: Assigned,
    row: GearRange | None = None,
    occupancy: Occupancy = LICENSED,
    closed: tuple[ClosedSpan, ...] = (),
) -> AssignedPoints:
    ours = row or gear()
    windows = compute_windows(
        ours, occupancy, rules=US, settings=Settings(), excluded=IntervalSet()
    )
    return assigned_points(
        rows, ours, windows=windows, occupancy=occupancy, rules=US, closed=closed
    )


def test_on_request_is_answered_by_the_assignment() -> None:
    """Channel 20, 506-512 MHz, is held by a contour: on request with a licence."""
    found = judged(given(509.1, 524.5))
    assert found.usable_hz == (509_100_000, 524_500_000)
    assert found.refusals == ()
    first, second = found.points
    assert first.law is not None
    assert first.law.law == "on-request"
    assert (first.air, first.caution) == ("held", "air held: look before use")
    assert (second.air, second.caution) == ("quiet", "")


@pytest.mark.parametrize(
    ("mhz", "more", "why"),
    [
        (469.0, {}, "outside 470.1-607.9 MHz, the limits of Alder 470.1-607.9"),
        (508.0, {"pieces_hz": ((470_100_000, 500_000_000),)}, "outside 470.1-500 MHz"),
        (509.11, {}, "off the grid of Alder 470.1-607.9, steps of 25 kHz from 470.1 MHz"),
        (509.11, {"step_hz": 5_000}, "off the law's raster of 25 kHz"),
        (512.05, {"step_hz": 5_000}, "its bandwidth crosses the channel edge at 512 MHz"),
        (611.0, {"high_hz": 616_000_000}, "barred by"),
        (608.0, {"high_hz": 616_000_000}, "barred by"),
    ],
)
def test_refusals(mhz: float, more: dict[str, Any], why: str) -> None:
    found = judged(given(mhz), row=gear(**more))
    assert found.usable_hz == ()
    ((frequency_hz, text),) = found.refusals
    assert frequency_hz == round(mhz * 1e6)
    assert text.startswith(why)
    assert found.points[0].power_mw is None


def test_a_bandwidth_that_ends_at_a_channel_edge_is_inside() -> None:
    assert judged(given(511.9, 512.1)).usable_hz == (511_900_000, 512_100_000)


def test_without_a_licence_a_held_channel_is_barred_and_the_assignment_does_not_open_it() -> None:
    found = judged(given(509.1), occupancy=by_hand())
    ((_, text),) = found.refusals
    assert text.startswith("barred by 47 CFR 15.236")
    assert "contour of Invented" in text


def test_a_bandwidth_across_two_rules_is_refused() -> None:
    """652-653 MHz is closed and 653-657 MHz open to licensees."""
    wide = gear(
        low_hz=650_000_000,
        high_hz=660_000_000,
        tuning_origin_hz=650_000_000,
        powers_mw=(10.0,),
    )
    found = judged(given(653.0, 655.0, 657.0, 658.0), row=wide)
    assert found.usable_hz == (655_000_000, 658_000_000)
    texts = dict(found.refusals)
    assert texts[653_000_000].startswith("barred by")
    assert texts[657_000_000] == "its bandwidth crosses 657 MHz, where another rule begins"


def test_what_the_user_and_others_close_is_refused_by_name() -> None:
    here = stop(exclude_hz=((520_000_000, 521_000_000),))
    ours = tour(
        [here],
        [need()],
        excludes=(Exclude(low_hz=522_000_000, high_hz=523_000_000, reason="house intercom"),),
        others=(
            Other(
                owner="support act",
                frequency_hz=525_000_000,
                low_hz=524_900_000,
                high_hz=525_100_000,
            ),
        ),
    )
    rows = (given(520.5, 522.5, 525.0, 525.2),)
    texts = dict(judged(*rows, closed=closed_at(ours, here)).refusals)
    assert texts == {
        520_500_000: "closed by the tour file",
        522_500_000: "closed by the tour file: house intercom",
        525_000_000: "used by support act (other)",
    }


@pytest.mark.parametrize(
    ("assigned_mw", "powers", "kind", "expected"),
    [
        (None, (10.0, 50.0, 100.0, 500.0), "conducted", 100.0),  # the law's 250 mW conducted
        (50.0, (10.0, 50.0, 100.0), "conducted", 50.0),
        (49.9, (10.0, 50.0, 100.0), "conducted", 10.0),
        (1000.0, (10.0, 250.0, 300.0), "conducted", 250.0),  # never above the law
        (10.0, (10.0, 50.0), "EIRP", 10.0),
    ],
)
def test_power_is_the_highest_setting_within_assignment_and_law(
    assigned_mw: float | None, powers: tuple[float, ...], kind: str, expected: float
) -> None:
    # a held channel: only the licence's rule is left, 250 mW conducted
    row = gear(powers_mw=powers, power_kind=kind)
    found = judged(given(509.1, power_mw=assigned_mw), row=row)
    assert found.points[0].power_mw == expected


def test_gear_too_strong_for_the_assignment_is_refused() -> None:
    found = judged(given(509.1, power_mw=5.0))
    ((_, text),) = found.refusals
    assert text.startswith("the lowest setting of Alder 470.1-607.9, 10 mW EIRP, exceeds the 5 mW")


def test_the_reply_names_stop_need_frequency_and_reference() -> None:
    found = judged(given(469.0, reference="licence 17"), given(509.1))
    assert found.points[0].reply == (
        "here, vocals: 469.000 MHz (licence 17) cannot be used: outside 470.1-607.9 MHz, the "
        "limits of Alder 470.1-607.9; please assign another."
    )
    assert found.points[1].reply == ""


def test_points_of_several_rows_stand_in_order_and_keep_their_row() -> None:
    strong, weak = given(524.5, power_mw=50.0, reference="b"), given(509.1, power_mw=10.0)
    found = judged(strong, weak)
    assert found.usable_hz == (509_100_000, 524_500_000)
    point = found.at(524_500_000)
    assert point is not None
    assert (point.row.reference, point.power_mw) == ("b", 50.0)
    assert found.at(524_600_000) is None


def test_assignments_belong_to_one_need_at_one_stop() -> None:
    mine = given(509.1)
    ours = tour(
        [stop()], [need()], assigned=(mine, given(509.1, need="ears"), given(509.1, stop="away"))
    )
    assert assigned_at(ours, stop(), need()) == (mine,)


def test_the_document_tells_use_and_refusal() -> None:
    """Two ranges: 469 MHz is outside both, 509.1 MHz inside one of them only."""
    row = given(469.0, 509.1, 524.5, power_mw=50.0, reference="licence 17")
    high = gear(family="Beech", low_hz=520_100_000, tuning_origin_hz=520_100_000)
    both = [judged(row), judged(row, row=high)]
    used = {509_100_000: "Lead"}
    rows = assignment_rows(both, used)
    assert [(r["frequency_mhz"], r["used_by"]) for r in rows] == [
        (469.0, None),
        (509.1, "Lead"),
        (524.5, None),
    ]
    assert {(r["need"], r["reference"], r["power_mw"]) for r in rows} == {
        ("vocals", "licence 17", 50.0)
    }
    assert rows[0]["why"] == (
        "outside 470.1-607.9 MHz, the limits of Alder 470.1-607.9; outside 520.1-607.9 MHz, the "
        "limits of Beech 520.1-607.9"
    )
    assert rows[1]["why"] is None
    assert rows[2]["why"].startswith("can be used, but is not needed")
    found = list(assignment_warnings(both, used))
    assert [(code, where) for code, where, _ in found] == [
        ("assigned-refused", "here"),
        ("assigned-refused", "here"),
        ("assigned-not-quiet", "here"),
    ]
    assert found[2][2] == "Lead on assigned 509.100 MHz: air held: look before use"
    assert [code for code, _, _ in assignment_warnings(both, {524_500_000: "Lead"})] == [
        "assigned-refused",
        "assigned-refused",
    ]
