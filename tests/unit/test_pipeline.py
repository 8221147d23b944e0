"""Whole plans: law, licences, exclusions, rigs, earlier plans, stops on hold."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from planner.geodesy import direct
from planner.occupancy import compute_windows
from planner.occupancy.records import QUIET, AirSpan, Occupancy
from planner.records import Exclude, Licence, Settings
from planner.rules import StopFacts, country_rules
from planner.spectrum import IntervalSet
from tests.unit.builders import gear, need, station, stop
from tests.unit.planning import FAR, carriers, document, frequencies_mhz, moved, planned

if TYPE_CHECKING:
    from planner.plan import PlanResult

US = country_rules("US")
PART_74 = Licence(country="US", kind="part-74", holder="Rig Hire")
CHANNEL_20_HZ = (506_000_000, 512_000_000)


def clear(result: PlanResult, stop_id: str = "here") -> IntervalSet:
    """Return the clear windows of the only range at a stop."""
    (row,) = result.gear
    return IntervalSet(result.windows[row.key, stop_id].clear_hz)


# --- on request is not lawful ------------------------------------------------------------------


def law_of(found: PlanResult, stop_id: str, low_hz: int) -> set[str]:
    (row,) = found.gear
    spans = found.windows[row.key, stop_id].law
    return {span.law for span in spans if span.low_hz <= low_hz < span.high_hz}


@pytest.mark.parametrize(
    ("licences", "law"), [((), "barred"), ((PART_74,), "on-request")], ids=["without", "with"]
)
def test_a_quiet_channel_inside_a_contour_has_no_window(
    licences: tuple[Licence, ...], law: str
) -> None:
    # the air is set to quiet, so that only the law stands between the channel and a window
    found = Occupancy(
        stop_id="here",
        spans=(
            AirSpan(
                low_hz=470_000_000,
                high_hz=608_000_000,
                air=QUIET,
                coverage="full",
                table_possible=True,
                noise_rise_db=0.0,
                reasons=(),
            ),
        ),
        channels=(),
        facts=StopFacts(
            country="US",
            lat_deg=39.0,
            lon_deg=-99.0,
            protected={"20": "inside the contour of Invented 20"},
            licences=licences,
        ),
    )
    parts = compute_windows(gear(), found, rules=US, settings=Settings(), excluded=IntervalSet())
    assert {s.law for s in parts.law if s.low_hz == CHANNEL_20_HZ[0]} == {law}
    assert not IntervalSet(parts.clear_hz).clip(*CHANNEL_20_HZ)
    assert IntervalSet(parts.clear_hz).holds(500_000_000, 506_000_000)
    assert IntervalSet(parts.clear_hz).holds(512_000_000, 518_000_000)


def test_a_quiet_land_mobile_channel_has_no_window_for_a_licence_holder() -> None:
    # Dallas/Fort Worth, channel 16 = 482 to 488 MHz (47 CFR 90.303(b)); the air is set to quiet
    found = Occupancy(
        stop_id="here",
        spans=(
            AirSpan(
                low_hz=470_000_000,
                high_hz=608_000_000,
                air=QUIET,
                coverage="full",
                table_possible=True,
                noise_rise_db=0.0,
                reasons=(),
            ),
        ),
        channels=(),
        facts=StopFacts(
            country="US", lat_deg=32.78, lon_deg=-96.8, protected={}, licences=(PART_74,)
        ),
    )
    parts = compute_windows(gear(), found, rules=US, settings=Settings(), excluded=IntervalSet())
    assert {s.law for s in parts.law if s.low_hz == 482_000_000} == {"on-request"}
    assert not IntervalSet(parts.clear_hz).clip(482_000_000, 488_000_000)


def test_a_plan_opens_no_window_on_request() -> None:
    # a contour, a land mobile area, and 941.5-944 MHz, on request by its very rule (47 CFR
    # 74.802(a)); unlisted spans are opened, so that the law alone decides on the last
    open_all = Settings(plan_unlisted=True, use_faint="all")
    held = planned(rows=[FAR, station(20, **moved(10))], licences=(PART_74,), settings=open_all)
    assert law_of(held, "here", CHANNEL_20_HZ[0]) == {"on-request"}
    assert not clear(held).clip(*CHANNEL_20_HZ)
    dallas = planned(
        stops=[stop(lat_deg=32.78, lon_deg=-96.8)], licences=(PART_74,), settings=open_all
    )
    assert law_of(dallas, "here", 482_000_000) == {"on-request"}
    assert not clear(dallas).clip(482_000_000, 488_000_000)
    links = gear(low_hz=941_600_000, high_hz=943_900_000, tuning_origin_hz=941_600_000)
    asked = planned(ranges=[links], licences=(PART_74,), settings=open_all)
    assert law_of(asked, "here", 942_000_000) == {"on-request"}
    assert not clear(asked)
    assert not asked.route.stops[0].carriers
    assert asked.short_confirmed


# --- raster and licence ------------------------------------------------------------------------


def test_gear_with_a_step_of_12_5_khz_stands_on_multiples_of_25_khz() -> None:
    # 25 kHz: 47 CFR 74.802(c). The range begins beside the raster, and its spacing is an odd
    # number of steps, so that a finer raster would be used at once
    fine = gear(
        low_hz=470_112_500, tuning_origin_hz=470_112_500, step_hz=12_500, spacing_hz=362_500
    )
    result = planned(ranges=[fine])
    placed = [use.frequency_hz for use in result.route.stops[0].carriers.values()]
    counted = result.counts[fine.key, "here"]
    assert len(placed) == 3
    assert len(counted.clear_hz) >= 3
    assert [hz % 25_000 for hz in (*placed, *counted.clear_hz, *counted.faint_hz)] == [0] * (
        len(placed) + len(counted.clear_hz) + len(counted.faint_hz)
    )


@pytest.mark.parametrize(("country", "law"), [("US", "lawful"), ("CA", "barred")])
def test_a_licence_serves_its_own_country_only(country: str, law: str) -> None:
    # 653-657 MHz: licensees only (47 CFR 74.802(a)(2))
    row = gear(low_hz=653_200_000, high_hz=656_800_000, tuning_origin_hz=653_200_000)
    licence = Licence(country=country, kind="part-74", holder="Rig Hire")
    assert licence.serves(stop()) is (country == "US")
    result = planned(ranges=[row], licences=(licence,))
    assert law_of(result, "here", 654_000_000) == {law}
    assert bool(clear(result)) is (law == "lawful")


def test_a_land_mobile_caution_leaves_the_channel_usable_and_says_so() -> None:
    # Dallas/Fort Worth, channel 16: held to 129 km, caution to 134 km of its centre
    found = {}
    for km in (128.0, 131.5):
        lat, lon = direct(32.785972, -96.793889, 270.0, km)
        result = planned(stops=[stop(lat_deg=float(lat), lon_deg=float(lon))])
        (channel,) = (
            row for row in document(result)["stops"][0]["channels"] if row["channel"] == 16
        )
        found[km] = (
            channel["law"],
            clear(result).holds(482_000_000, 488_000_000),
            {reason["code"] for reason in channel["reasons"]} & {"land-mobile", "land-mobile-near"},
        )
    assert found == {
        128.0: ("barred", False, {"land-mobile"}),
        131.5: ("lawful", True, {"land-mobile-near"}),
    }


# --- exclusions and holds ----------------------------------------------------------------------


def test_an_exclusion_with_stops_closes_its_span_there_only() -> None:
    exclude = Exclude(low_hz=500_000_000, high_hz=540_000_000, stops=("b",))
    stops = [stop(id="a"), stop(id="b", lat_deg=40.0), stop(id="c", exclude_hz=())]
    result = planned(stops=stops, excludes=(exclude,))
    assert clear(result, "a").clip(500_000_000, 540_000_000).width_hz == 40_000_000
    assert not clear(result, "b").clip(500_000_000, 540_000_000)
    assert clear(result, "b").clip(540_000_000, 560_000_000)
    assert clear(result, "c").clip(500_000_000, 540_000_000).width_hz == 40_000_000
    everywhere = planned(stops=stops, excludes=(Exclude(low_hz=500_000_000, high_hz=540_000_000),))
    assert not any(clear(everywhere, s.id).clip(500_000_000, 540_000_000) for s in stops)


@pytest.mark.parametrize(
    ("status", "exit_3"), [("confirmed", True), ("hold", False), ("cancelled", False)]
)
def test_only_a_confirmed_stop_makes_a_plan_short(status: str, *, exit_3: bool) -> None:
    # stop b has no usable spectrum at all
    shut = ((470_000_000, 608_000_000),)
    stops = [stop(id="a"), stop(id="b", lat_deg=40.0, status=status, exclude_hz=shut)]
    result = planned(stops=stops)
    assert result.short_confirmed is exit_3
    short = {row["id"]: row["short"] for row in document(result)["stops"]}
    assert short["a"] == []
    if status != "cancelled":
        assert [row["missing"] for row in short["b"]] == [3]


def test_a_short_need_that_no_range_can_serve_counts_the_same() -> None:
    wanted = [need(role="intercom")]
    assert planned(needs=wanted).short_confirmed
    assert not planned(needs=wanted, stops=[stop(status="hold")]).short_confirmed


# --- rigs and lines ----------------------------------------------------------------------------

LOW, HIGH = (470_000_000, 540_000_000), (540_000_000, 608_000_000)
"""Halves of the band: closing one at a stop drives its carriers into the other."""


def test_retunes_are_counted_within_a_rig() -> None:
    # rig A in the upper half, rig B in the lower, stop by stop in turns
    stops = [
        stop(id="a1", rig="A", exclude_hz=(LOW,)),
        stop(id="b1", rig="B", exclude_hz=(HIGH,)),
        stop(id="a2", rig="A", exclude_hz=(LOW,)),
        stop(id="b2", rig="B", exclude_hz=(HIGH,)),
    ]
    found = {row["id"]: carriers(row) for row in document(planned(stops=stops))["stops"]}
    for rig in "ab":
        first, second = found[f"{rig}1"], found[f"{rig}2"]
        assert len(first) == 3
        for name, row in first.items():
            assert (row["previous_frequency_mhz"], row["retuned"]) == (None, False)
            assert second[name]["previous_frequency_mhz"] == row["frequency_mhz"]
            assert second[name]["frequency_mhz"] == row["frequency_mhz"]
            assert not second[name]["retuned"]


def test_a_line_that_rests_at_a_stop_keeps_its_frequency_after_it() -> None:
    # the vocals rest at b; at c the whole band is open, and only memory keeps them up there
    stops = [
        stop(id="a", exclude_hz=(LOW,)),
        stop(id="b", lat_deg=40.0, exclude_hz=(LOW,)),
        stop(id="c", lat_deg=41.0),
    ]
    needs = [
        need(stops=("a", "c")),
        need(name="band", lines=("Bass", "Keys"), spares=0, stops=("a", "b")),
    ]
    found = {
        row["id"]: carriers(row) for row in document(planned(stops=stops, needs=needs))["stops"]
    }
    names = {"Lead", "Guitar", "vocals spare 1"}
    assert set(found["c"]) == names
    assert not names & set(found["b"])
    for name in names:
        before, after = found["a"][name], found["c"][name]
        assert after["frequency_mhz"] == before["frequency_mhz"]
        assert after["previous_frequency_mhz"] == before["frequency_mhz"]
        assert not after["retuned"]


def test_the_last_use_is_told_where_a_line_had_to_move_after_a_rest() -> None:
    stops = [
        stop(id="a", exclude_hz=(LOW,)),
        stop(id="b", lat_deg=40.0),
        stop(id="c", lat_deg=41.0, exclude_hz=(HIGH,)),
    ]
    found = document(
        planned(stops=stops, needs=[need(stops=("a", "c")), need(name="b", stops=("b",))])
    )
    first, last = (carriers(found["stops"][i]) for i in (0, 2))
    for name, row in last.items():
        assert row["previous_frequency_mhz"] == first[name]["frequency_mhz"]
        assert row["retuned"]
        assert row["forced"]


# --- earlier plans -----------------------------------------------------------------------------


def two_visits() -> dict[str, Any]:
    """Return a plan with two visits to one town, the first in the upper half of the band."""
    stops = [
        stop(id="here-1", exclude_hz=(LOW,)),
        stop(id="there", lat_deg=41.0),
        stop(id="here-2", exclude_hz=(HIGH,)),
    ]
    return document(planned(stops=stops))


@pytest.mark.parametrize("visits", [1, 2, 3])
def test_an_earlier_plan_is_followed_nth_visit_to_nth_visit(visits: int) -> None:
    before = two_visits()
    old = [frequencies_mhz(row) for row in before["stops"] if row["id"] != "there"]
    assert min(old[0].values()) > 540 > max(old[1].values())
    again = [stop(id=f"again-{number}") for number in range(visits)]
    now = document(planned(stops=again, previous=before))["stops"]
    for row, kept in zip(now, old, strict=False):
        assert frequencies_mhz(row) == kept


def test_an_earlier_plan_is_not_followed_at_another_place() -> None:
    before = two_visits()
    (row,) = document(planned(stops=[stop(id="here-1", lat_deg=39.0002)], previous=before))["stops"]
    fresh = document(planned(stops=[stop(id="here-1", lat_deg=39.0002)]))["stops"][0]
    assert frequencies_mhz(row) == frequencies_mhz(fresh)


def test_an_earlier_plan_wins_over_last_nights_carriers() -> None:
    before = document(
        planned(stops=[stop(id="b", lat_deg=41.0, exclude_hz=(HIGH,))], needs=[need()])
    )
    kept = frequencies_mhz(before["stops"][0])
    stops = [stop(id="a", exclude_hz=(LOW,)), stop(id="b", lat_deg=41.0)]
    now = document(planned(stops=stops, previous=before))["stops"]
    assert not set(frequencies_mhz(now[0]).values()) & set(kept.values())
    assert frequencies_mhz(now[1]) == kept
