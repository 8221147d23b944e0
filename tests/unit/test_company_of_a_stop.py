"""Who is on with whom at a stop: hours, zones, in-ear carriers apart, and what the plan does."""

from __future__ import annotations

import dataclasses
import itertools
from typing import Any

import pytest

from planner.coordination import coordinate
from planner.coordination.company import TOGETHER
from planner.coordination.records import Order
from planner.plan.company import company_at
from planner.plan.hours import Slots, ever_together
from planner.plan.scope import closed_at
from planner.records import FixedCarrier, Other, Reserve, Settings, ZonePair
from tests.unit.builders import gear, need, stop, tour
from tests.unit.planning import document, moved, planned

MIC, EARS = gear(), gear(family="Elm", role="in-ear", low_hz=518_100_000, high_hz=541_900_000)
SMALL = gear(low_hz=506_100_000, high_hz=508_000_000, tuning_origin_hz=506_100_000)
"""Holds four carriers and not five at 350 kHz and these guards, and six by spacing alone."""
FOUR = ("A", "B", "C", "D")
FIXED = FixedCarrier(
    name="house", role="mic", frequency_hz=520_000_000, range_key=MIC.key, active=("10:00", "12:00")
)
CREW = Other(
    owner="crew", frequency_hz=507_000_000, low_hz=506_900_000, high_hz=507_100_000, protect=True
)


def four(**more: Any) -> Any:
    return need(lines=FOUR, count=4, spares=0, **more)


def stop_record(**more: Any) -> dict[str, Any]:
    record: dict[str, Any] = document(planned(ranges=[SMALL], **more))["stops"][0]
    return record


@pytest.mark.parametrize(
    ("one", "two", "meet"),
    [
        (("10:00", "14:00"), ("14:00", "20:00"), False),
        (("10:00", "14:01"), ("14:00", "20:00"), True),
        (("22:00", "01:00"), ("00:30", "02:00"), True),
        (("22:00", "01:00"), ("01:00", "22:00"), False),
        (("22:00", "01:00"), ("23:00", "23:30"), True),
        ((), ("03:00", "03:01"), True),
        ((), (), True),
    ],
)
def test_hours_meet_or_not(one: tuple[str, ...], two: tuple[str, ...], meet: bool) -> None:  # noqa: FBT001 - a case
    assert ever_together(one, two) is meet
    assert ever_together(two, one) is meet


def test_slots_agree_with_minutes_one_by_one() -> None:
    times = [("22:00", "01:00"), ("00:30", "02:15"), ("09:00", "22:00"), ()]
    slots = Slots.of(times)

    def minutes(pair: tuple[str, ...]) -> set[int]:
        if not pair:
            return set(range(1440))
        begin, end = (int(t[:2]) * 60 + int(t[3:]) for t in pair)
        return {(begin + k) % 1440 for k in range((end - begin) % 1440)}

    for one in times:
        for two in times:
            assert bool(slots.mask(one) & slots.mask(two)) == bool(minutes(one) & minutes(two))


def test_everybody_together_is_the_plain_company() -> None:
    needs = [need(), need(name="ears", role="in-ear", zone="balcony")]
    ours = tour([stop()], needs, settings=Settings(in_ear_separation_mhz=0.0))
    found = company_at(ours, stop(), [MIC, EARS])
    assert found.company is TOGETHER
    assert found.needs == {"vocals": 0, "ears": 0}
    assert found.left_out == ()


def test_one_time_for_all_is_the_plain_company_too() -> None:
    night = ("20:00", "23:00")
    ours = tour([stop()], [need(active=night), need(name="b", active=night)])
    assert company_at(ours, stop(), [MIC]).company is TOGETHER


def test_groups_by_hours() -> None:
    ours = tour(
        [stop()],
        [need(active=("20:00", "23:00")), need(name="day", active=("11:00", "12:00"))],
        fixed=(FIXED,),
        others=(CREW,),
        reserves=(Reserve(role="mic", count=1),),
    )
    found = company_at(ours, stop(), [MIC])
    show, day = found.needs["vocals"], found.needs["day"]
    (house,), (crew,), (kept,) = found.fixed, found.others, found.reserves
    assert not found.company.together((show, day))
    assert not found.company.together((show, house))
    assert found.company.together((day, house))
    assert all(found.company.together((group, crew)) for group in (show, day, house))
    assert crew == kept  # both all day


def test_only_what_is_at_the_stop_counts() -> None:
    away = dataclasses.replace(FIXED, stops=("there",))
    ours = tour([stop()], [need()], fixed=(away,))
    found = company_at(ours, stop(), [MIC])
    assert found.company is TOGETHER
    assert found.fixed == ()


def test_in_ear_carriers_are_kept_apart_by_the_setting_only_from_what_is_received() -> None:
    ears = need(name="ears", role="in-ear")
    link = need(name="link", role="link")
    apart = Settings(in_ear_separation_mhz=1.5)
    ours = tour([stop()], [need(), ears, link], settings=apart, fixed=(FIXED,), others=(CREW,))
    found = company_at(ours, stop(), [MIC, EARS, gear(family="Fir", role="link")])
    group, groups = found.company.separation_hz, found.needs
    assert group(groups["ears"], groups["vocals"]) == 1_500_000
    assert group(groups["vocals"], groups["ears"]) == 1_500_000
    assert group(groups["ears"], groups["link"]) == 1_500_000
    assert group(groups["ears"], found.fixed[0]) == 1_500_000
    assert group(groups["ears"], found.others[0]) == 0  # nobody knows what theirs is
    assert group(groups["ears"], groups["ears"]) == 0
    assert group(groups["vocals"], groups["link"]) == 0


def test_the_plan_keeps_in_ear_carriers_apart() -> None:
    ears = gear(family="Elm", role="in-ear")
    needs = [need(), need(name="ears", role="in-ear", lines=("A", "B"))]
    result = planned(needs=needs, ranges=[MIC, ears], settings=Settings(in_ear_separation_mhz=5.0))
    rows = document(result)["stops"][0]["carriers"]
    mine, theirs = (
        [row["frequency_mhz"] for row in rows if row["need"] == name] for name in ("vocals", "ears")
    )
    assert len(mine) == len(theirs) == 3
    assert min(abs(a - b) for a in mine for b in theirs) >= 5.0


def test_needs_that_are_never_on_together_use_the_same_spectrum() -> None:
    early, late = four(name="early", active=("10:00", "14:00")), four(name="late")
    late = dataclasses.replace(late, active=("14:00", "01:00"))
    assert stop_record(needs=[early, late])["short"] == []
    overlap = dataclasses.replace(late, active=("13:59", "01:00"))
    (short,) = stop_record(needs=[early, overlap])["short"]
    assert short["missing"] == 4


def test_a_use_whose_hours_meet_no_need_closes_nothing() -> None:
    night = dataclasses.replace(CREW, active=("02:00", "03:00"))
    day = four(active=("10:00", "14:00"))
    ours = tour([stop()], [day], others=(night,))
    assert closed_at(ours, stop()) == ()
    assert [row.text for row in closed_at(dataclasses.replace(ours, needs=(four(),)), stop())] == [
        "used by crew (other), active 02:00 to 03:00, closed all day"
    ]
    kept = dataclasses.replace(ours, reserves=(Reserve(role="mic", count=1),))
    assert len(closed_at(kept, stop())) == 1  # people turn up at any time
    assert stop_record(needs=[day], others=(night,))["short"] == []
    assert stop_record(needs=[four()], others=(night,))["short"][0]["missing"] > 0


def test_a_fixed_carrier_of_other_hours_is_no_source() -> None:
    house = FixedCarrier(name="house", role="mic", frequency_hz=507_000_000, range_key=SMALL.key)
    day = four(active=("10:00", "14:00"))
    assert stop_record(needs=[day], fixed=(house,))["short"][0]["missing"] > 0
    night = dataclasses.replace(house, active=("20:00", "23:00"))
    assert stop_record(needs=[day], fixed=(night,))["short"] == []


def test_isolated_zones_hear_no_products_of_each_other_but_keep_their_spacing() -> None:
    two = [
        need(name="in", lines=("A", "B", "C"), count=3, spares=0),
        need(name="out", lines=("A", "B", "C"), count=3, spares=0, zone="car park"),
    ]
    far = ZonePair(a="stage", b="car park", isolation_db=170.0)
    near = ZonePair(a="stage", b="car park", distance_m=50.0)
    wide = gear(low_hz=506_100_000, high_hz=508_300_000, tuning_origin_hz=506_100_000)

    def record(*pairs: ZonePair) -> dict[str, Any]:
        found: dict[str, Any] = document(planned(needs=two, ranges=[wide], zone_pairs=pairs))
        return found["stops"][0]  # type: ignore[no-any-return]

    apart, close, untold = record(far), record(near), record()
    assert apart["short"] == []
    assert close["short"] == untold["short"] != []
    assert (close["zones"], untold["zones"]) == ([], [])
    assert {row["victim"] for row in apart["zones"]} == {"stage", "car park"}
    assert all(row["under_floor_db"] >= 10 for row in apart["zones"])
    hz = sorted(round(row["frequency_mhz"] * 1e6) for row in apart["carriers"])
    assert min(b - a for a, b in itertools.pairwise(hz)) >= wide.spacing_hz


def test_hours_that_share_a_slot_make_no_groups() -> None:
    support = dataclasses.replace(CREW, active=("15:00", "20:15"))
    ours = tour([stop()], [need()], others=(support,))
    assert company_at(ours, stop(), [MIC]).company is TOGETHER


def test_a_group_that_is_not_there_is_refused() -> None:
    order = Order(name="a", choices=(), count=1, group=2)
    with pytest.raises(ValueError, match=r"groups \[2\] in a company of 1"):
        coordinate([order])


def test_stops_of_different_companies_are_looked_at_together() -> None:
    late = need(name="late", active=("20:00", "23:00"))
    early = need(name="early", active=("10:00", "12:00"), stops=("there",))
    house = dataclasses.replace(FIXED, stops=("there",), active=("13:00", "14:00"))
    stops = [stop(), stop(id="there", **moved(300)), stop(id="last", **moved(600))]
    result = planned(stops=stops, needs=[late, early], fixed=(house,))
    assert [len(task.company.groups) for task in result.tasks] == [1, 3, 1]
    record = document(result)["stops"]
    assert [row["short"] for row in record] == [[], [], []]
    assert not any(row["retuned"] for row in record[1]["carriers"])
