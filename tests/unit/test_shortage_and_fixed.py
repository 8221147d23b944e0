"""What a plan says of shortages, of fixed carriers that do not stand clear, of exclusions."""

from __future__ import annotations

from typing import Any

import pytest

from planner.occupancy import account
from planner.plan import plan_document, run_plan
from planner.plan.scope import excluded_at
from planner.records import Exclude, FixedCarrier, Need, Settings, Tour
from tests.unit.builders import FULL_US, gear, need, nobody_near, station, stations, stop, tour

# Everything is quiet here but channel 20, which is held
TABLE = stations([station(20), station(14, lat_deg=43.0, erp_kw=0.1, haat_m=30.0)], (FULL_US,))


def planned(tour_: Tour, **more: Any) -> tuple[Any, dict[str, Any]]:
    result = run_plan(tour_, TABLE, [gear(**more)], countries_near=nobody_near, effort="quick")
    return result, plan_document(result, inputs=[])


def with_fixed(mhz: float, **more: Any) -> list[str]:
    fixed = FixedCarrier(
        name="house", role="mic", frequency_hz=round(mhz * 1e6), range_key="Alder 470.1-607.9"
    )
    _, document = planned(tour([stop()], [need()], fixed=(fixed,), **more))
    (carrier,) = (c for c in document["stops"][0]["carriers"] if c["fixed"])
    texts = [row["text"] for row in document["warnings"] if row["code"] == "fixed-not-clear"]
    return [*texts, carrier["law"]]


def test_a_fixed_carrier_in_usable_spectrum_is_not_warned_of() -> None:
    assert with_fixed(545.1) == ["lawful"]


@pytest.mark.parametrize(
    ("mhz", "said", "law"),
    [
        (508.1, "air held, law barred", "barred"),
        (520.103, "off the law's raster", "barred"),
        (524.0, "not inside one TV channel", "lawful"),
    ],
)
def test_a_fixed_carrier_that_does_not_stand_clear_says_why(
    mhz: float, said: str, law: str
) -> None:
    text, found = with_fixed(mhz)
    assert said in text
    assert found == law


def test_a_fixed_carrier_inside_the_users_own_exclusion_is_warned_of() -> None:
    closed = Exclude(low_hz=520_000_000, high_hz=521_000_000)
    text, _ = with_fixed(520.5, excludes=(closed,))
    assert "inside spectrum that the tour file excludes" in text


def test_an_exclusion_is_told_in_the_spans_of_its_stops_only() -> None:
    closed = Exclude(low_hz=530_000_000, high_hz=531_000_000, stops=("here",))
    _, document = planned(
        tour([stop(), stop(id="there", lat_deg=40.0)], [need()], excludes=(closed,))
    )
    marked = [
        [(s["low_mhz"], s["high_mhz"]) for s in row["spans"] if s["excluded"]]
        for row in document["stops"]
    ]
    assert marked == [[(530.0, 531.0)], []]


@pytest.mark.parametrize("use_faint", ["never", "spares", "all"])
def test_the_account_of_a_range_adds_up_to_its_span(use_faint: str) -> None:
    closed = Exclude(low_hz=530_000_000, high_hz=531_000_000)
    plan_tour = tour([stop()], [need()], excludes=(closed,), settings=Settings(use_faint=use_faint))
    result, _ = planned(plan_tour, high_hz=615_900_000)
    row = result.gear[0]
    parts = account(
        row,
        result.occupancies[0],
        result.windows[row.key, "here"],
        excluded_at(plan_tour, plan_tour.stops[0]),
    )
    low, high = row.searched_span_hz
    assert sum(parts.values()) == high - low
    assert parts["excluded"] == 1_000_000
    assert parts["not lawful"] >= 6_000_000  # channel 20, and channel 37


def test_a_range_that_rests_on_unchecked_spectrum_says_so() -> None:
    result, document = planned(tour([stop()], [need()]), low_hz=614_100_000, high_hz=615_900_000)
    assert "no table covers: not checked" in document["ranking"][0]["why"]
    assert result.windows[result.gear[0].key, "here"].unchecked_hz
    _, clear = planned(tour([stop()], [need()]))
    assert "not checked" not in clear["ranking"][0]["why"]


def test_a_need_that_no_range_can_serve_makes_a_confirmed_stop_short() -> None:
    nobody = Need(name="coms", role="intercom", lines=("a",), count=1)
    result, document = planned(tour([stop()], [nobody]))
    assert result.short_confirmed
    assert document["stops"][0]["short"][0]["missing"] == 1
    held = planned(tour([stop(status="hold")], [nobody]))[0]
    assert not held.short_confirmed
