"""What compare tells of two plans: on hand-made documents and on small whole plans."""

from __future__ import annotations

import copy
import json
from typing import TYPE_CHECKING, Any

import pytest

from planner.cli.plan_shape import PLAN_SHAPE, misfit
from planner.plan.compare import compare_plans
from planner.records import Exclude
from tests.report.sample_plan import MIC_RANGE, sample_plan
from tests.unit.builders import station, stop
from tests.unit.planning import FAR, document, frequencies_mhz, moved, planned

if TYPE_CHECKING:
    from collections.abc import Callable

Plan = dict[str, Any]


def told(change: Callable[[Plan], object]) -> Plan:
    """Return what is told of the sample plan after a change."""
    old = sample_plan()
    new = copy.deepcopy(old)
    change(new)
    return compare_plans(old, new)


def test_nothing_changed_and_an_earlier_plan_followed_is_no_change() -> None:
    def follow(plan: Plan) -> None:
        plan["made"] |= {"issue": 3, "replaces": 2, "steps": 1}
        plan["inputs"].append({"file": "plan.json", "sha256": "1" * 64, "rows": None})

    found = told(follow)
    assert found["same"] is True
    assert [row["key"] for row in found["made"]] == ["steps", "issue", "replaces"]
    assert found["counts"]["carriers"] == {"retuned": 0, "new": 0, "gone": 0, "other": 0}


@pytest.mark.parametrize(
    ("change", "where"),
    [
        (lambda plan: plan["common"].update(full_windows_mhz=[]), "common"),
        (lambda plan: plan["stops"][0].update(law_asks=[]), "omaha-1: law_asks"),
        (
            lambda plan: plan["stops"][0]["carriers"][0].update(noise_rise_db=1.5),
            "omaha-1: carriers",
        ),
        (lambda plan: plan["warnings"].reverse(), "the order of lists"),
    ],
)
def test_no_difference_is_kept_silent(change: Callable[[Plan], object], where: str) -> None:
    found = told(change)
    assert (found["same"], found["elsewhere"]) == (False, [where])


def test_a_stop_dropped_one_added_one_moved_in_date_and_one_in_place() -> None:
    def change(plan: Plan) -> None:
        omaha, chicago, denver, boise = plan["stops"]
        omaha |= {"first_date": "2027-03-05", "setting": "outdoor"}
        chicago |= {"lat_deg": 41.9}
        new = copy.deepcopy(boise) | {"id": "reno-1", "place": "Reno, NV, US", "lat_deg": 39.5}
        plan["stops"] = [omaha, chicago, denver, new]

    route = told(change)["route"]
    # boise-1 stands on Omaha's point as the fourth stop there; it is the one that went
    assert [row["id"] for row in route["dropped"]] == ["boise-1"]
    assert [row["id"] for row in route["added"]] == ["reno-1"]
    by_stop = {row["stop"]: row for row in route["changed"]}
    assert {row["key"] for row in by_stop["omaha-1"]["facts"]} == {"first_date", "setting"}
    assert by_stop["chicago-1"]["moved"] is True
    assert by_stop["chicago-1"]["facts"] == [{"key": "lat_deg", "old": 41.8781, "new": 41.9}]


def test_the_fewest_stops_explain_a_new_order() -> None:
    def place(plan: Plan) -> None:
        for index, row in enumerate(plan["stops"]):
            row["lat_deg"] = 30.0 + index

    old = sample_plan()
    place(old)
    new = copy.deepcopy(old)
    new["stops"] = [new["stops"][i] for i in (3, 0, 1, 2)]
    assert compare_plans(old, new)["route"]["reordered"] == ["boise-1"]


def test_choice_ranking_settings_files_and_needs() -> None:
    def change(plan: Plan) -> None:
        plan["choice"]["vocals"] = ["Rowan 518-607.9"]
        plan["ranking"][0] |= {"rank": 2, "stops_met": 1}
        plan["ranking"].pop(1)
        plan["tour"]["settings"]["noise_rise_limit_db"] = 3.0
        plan["inputs"][1]["sha256"] = "f" * 64
        plan["needs"][0]["spares"] = 2

    found = told(change)
    assert found["choice"] == [{"need": "vocals", "old": [MIC_RANGE], "new": ["Rowan 518-607.9"]}]
    assert [(row["old_rank"], row["new_rank"]) for row in found["ranking"]] == [(1, 2), (2, None)]
    assert found["settings"] == [{"key": "noise_rise_limit_db", "old": 6.0, "new": 3.0}]
    assert [(row["file"], row["change"]) for row in found["inputs"]] == [("us-demo.csv", "changed")]
    assert found["needs"][0]["facts"] == [{"key": "spares", "old": 1, "new": 2}]


def test_one_key_and_a_list_of_one_are_the_same_choice() -> None:
    found = told(lambda plan: plan["choice"].update(vocals=[MIC_RANGE]))
    assert found["choice"] == []


def test_lines_that_come_go_and_change_their_power() -> None:
    def change(plan: Plan) -> None:
        rows = plan["stops"][0]["carriers"]
        rows[0]["power_mw"] = 10
        rows[1]["name"] = "Newcomer"

    found = told(change)
    (omaha,) = found["carriers"]
    by_name = {row["name"]: row for row in omaha["rows"]}
    assert by_name["Lead"]["change"] == "retuned"
    assert by_name["Lead"]["why"] == "power 30 -> 10"
    assert by_name["Newcomer"]["change"] == "new"
    assert by_name["Gitarre Süd"]["change"] == "gone"
    assert found["counts"]["carriers"] == {"retuned": 1, "new": 1, "gone": 1, "other": 0}


# --- whole small plans -------------------------------------------------------------------------

AWAY = stop(id="away", place="Away", **moved(200))


def test_a_new_station_is_named_and_the_line_under_it_moves_for_it() -> None:
    before = document(planned(stops=[stop(), AWAY]))
    lead = frequencies_mhz(before["stops"][0])["Lead"]
    channel = 14 + int((lead - 470) // 6)
    rows = [FAR, station(channel, station_id="newborn", name="Newborn TV")]
    after = document(planned(stops=[stop(), AWAY], rows=rows, previous=before))
    found = compare_plans(before, after)
    assert ("newborn", "came") in [(row["station_id"], row["change"]) for row in found["stations"]]
    (here,) = [row for row in found["verdicts"] if row["stop"] == "here"]
    low = 470.0 + 6 * (channel - 14)
    (span,) = [row for row in here["spans"] if row["low_mhz"] <= low < row["high_mhz"]]
    assert (span["old_air"], span["new_air"]) == ("quiet", "held")
    assert ("newborn", "came") in [(row["station_id"], row["station"]) for row in span["why"]]
    assert channel in [row["channel"] for row in here["channels"]]
    moved_lines = {
        row["name"]: row
        for told_stop in found["carriers"]
        if told_stop["stop"] == "here"
        for row in told_stop["rows"]
    }
    assert moved_lines["Lead"]["old"]["frequency_mhz"] == lead
    assert "air quiet -> held" in moved_lines["Lead"]["why"]
    assert "Newborn TV" in moved_lines["Lead"]["why"]


def test_an_exclusion_is_the_reason_of_a_move_and_only_there() -> None:
    before = document(planned(stops=[stop(), AWAY]))
    lead_hz = round(frequencies_mhz(before["stops"][0])["Lead"] * 1e6)
    shut = Exclude(
        low_hz=lead_hz - 50_000, high_hz=lead_hz + 50_000, reason="hall", stops=("here",)
    )
    after = document(planned(stops=[stop(), AWAY], excludes=(shut,), previous=before))
    found = compare_plans(before, after)
    (here,) = found["verdicts"]
    (span,) = here["spans"]
    assert (span["old_excluded"], span["new_excluded"]) == (False, True)
    assert any("hall" in row["text"] and row["change"] == "came" for row in span["why"])
    (carriers,) = found["carriers"]
    assert [row["name"] for row in carriers["rows"]] == ["Lead"]
    assert "closed by the tour file" in carriers["rows"][0]["why"]


# --- the shape that is checked before ----------------------------------------------------------


def test_real_plans_have_the_shape() -> None:
    assert misfit(sample_plan(), PLAN_SHAPE) == ""
    plan = json.loads(json.dumps(document(planned())))
    assert misfit(plan, PLAN_SHAPE) == ""


@pytest.mark.parametrize(
    ("change", "where"),
    [
        (lambda plan: plan["stops"][1].pop("carriers"), "stops[1].carriers"),
        (
            lambda plan: plan["stops"][0]["spans"][0].update(low_mhz="x"),
            "stops[0].spans[0].low_mhz",
        ),
        (lambda plan: plan.update(ranking={}), "ranking"),
        (lambda plan: plan.update(transmitters={"a": []}), "transmitters.a"),
        (lambda plan: plan.pop("inputs"), "inputs"),
    ],
)
def test_the_first_misfit_is_named(change: Callable[[Plan], object], where: str) -> None:
    plan = sample_plan()
    change(plan)
    assert misfit(plan, PLAN_SHAPE) == where
    assert misfit([], PLAN_SHAPE) == "the whole file"
