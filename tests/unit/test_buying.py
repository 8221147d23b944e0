"""The buying summary: pieces counted from carriers, alternatives and papers read from the plan."""

from __future__ import annotations

import dataclasses
import datetime as dt
import itertools
import json
from importlib.resources import files
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.plan.buying import buying_document
from planner.plan.buying_choice import changes_document, instead_documents, runner_up_document
from planner.plan.buying_units import fewest_chassis
from planner.records import GearRange, Licence, Need, Tour
from planner.records.statements import Owned
from tests.unit.builders import gear, need, stop, tour
from tests.unit.planning import document, planned

Document = dict[str, Any]
LOW, HIGH = "Alder 470.1-513.9", "Birch 514-560"
STOPS = ("omaha-1", "chicago-1")


def _ranges(**more: Any) -> list[GearRange]:
    low = gear(high_hz=513_900_000, countries=("US",), **more)
    high = gear(family="Birch", low_hz=514_000_000, high_hz=560_000_000, countries=("US",))
    return [low, high]


def _carrier(name: str, frequency_mhz: float, **more: Any) -> Document:
    return {
        "name": name,
        "need": "vocals",
        "range": LOW,
        "frequency_mhz": frequency_mhz,
        "bandwidth_khz": 200.0,
        "power_mw": 50.0,
        "power_kind": "EIRP",
        "law": "lawful",
        "spare": False,
        **more,
    }


def _stop(stop_id: str, carriers: list[Document], **more: Any) -> Document:
    return {
        "id": stop_id,
        "country": "US",
        "rig": "A",
        "status": "confirmed",
        "first_date": "2027-03-04",
        "last_date": "2027-03-05",
        "carriers": carriers,
        "short": [],
        **more,
    }


def _document(stops: list[Document], **more: Any) -> Document:
    return {
        "stops": stops,
        "ranking": [],
        "combinations": None,
        "choice": {"vocals": [LOW]},
        "needs": [{"name": "vocals", "spares": 1}],
        "warnings": [],
        **more,
    }


def _two_stops(**more: Any) -> Document:
    first = [_carrier("Lead", 471.0), _carrier("Guitar", 480.5)]
    second = [_carrier("Lead", 490.0, power_mw=10.0), _carrier("Guitar", 481.0)]
    return _document(
        [
            _stop(STOPS[0], [*first, _carrier("vocals spare 1", 500.0, spare=True)]),
            _stop(STOPS[1], second),
        ],
        **more,
    )


def _bought(document: Document, *, wanted: Need | None = None, **more: Any) -> Document:
    ranges = more.pop("ranges", None) or _ranges()
    asked = tour([stop()], [wanted or need()], **more)
    return buying_document(asked, ranges, document)


def test_spare_frequencies_and_spare_pieces_are_two_numbers() -> None:
    found = _bought(_two_stops(), wanted=need(units_per_line=3))["needs"][0]
    assert (found["lines"], found["units_per_line"], found["spare_frequencies"]) == (2, 3, 1)
    (row,) = found["ranges"]
    assert row["channels"] == {"wanted": 2, "owned": 0, "get": 2}
    assert row["carried"] == {"main": 2, "spare": 4, "wanted": 6, "owned": 0, "get": 6}
    assert row["spare_frequencies"] == 1
    assert (row["used_low_mhz"], row["used_high_mhz"]) == (471.0, 500.0)


@pytest.mark.parametrize(("grade", "ready"), [("full", 1), ("stand-in", 0)])
def test_only_full_spares_could_stand_ready_on_channels_of_their_own(
    grade: str, ready: int
) -> None:
    found = _bought(_two_stops(), wanted=need(spare_grade=grade))["needs"][0]
    assert found["ready_channels"] == ready
    assert found["ranges"][0]["channels"]["wanted"] == 2


def test_owned_gear_is_subtracted_never_below_nothing_and_the_rest_is_told() -> None:
    owned = (
        Owned(range_key=LOW, receivers=1, transmitters=9),
        Owned(range_key=HIGH, receivers=4, transmitters=0),
    )
    found = _bought(_two_stops(), wanted=need(units_per_line=2), owned=owned)
    row = found["needs"][0]["ranges"][0]
    assert row["channels"] == {"wanted": 2, "owned": 1, "get": 1}
    assert (row["carried"]["owned"], row["carried"]["get"]) == (4, 0)
    assert found["owned_left_over"] == [
        {"range": LOW, "receivers": 0, "transmitters": 5},
        {"range": HIGH, "receivers": 4, "transmitters": 0},
    ]


def test_two_needs_of_one_range_do_not_own_or_take_the_same_piece_twice() -> None:
    choir = need(name="choir", lines=("choir 1", "choir 2"), spares=0)
    asked = tour(
        [stop()], [need(), choir], owned=(Owned(range_key=LOW, receivers=3, transmitters=0),)
    )
    plan = _two_stops(choice={"vocals": [LOW], "choir": [LOW]})
    vocals, second = buying_document(asked, _ranges(available=3), plan)["needs"]
    assert [row["ranges"][0]["channels"]["owned"] for row in (vocals, second)] == [2, 1]
    assert [row["ranges"][0]["available"] for row in (vocals, second)] == [3, 1]
    assert [row["ranges"][0]["suffices"] for row in (vocals, second)] == [True, False]


def test_with_several_ranges_each_counts_the_most_lines_it_holds_at_any_stop() -> None:
    plan = _document(
        [
            _stop(STOPS[0], [_carrier("Lead", 471.0), _carrier("Guitar", 480.0)]),
            _stop(STOPS[1], [_carrier("Lead", 520.0, range=HIGH), _carrier("Guitar", 480.0)]),
        ],
        choice={"vocals": [LOW, HIGH]},
    )
    rows = _bought(plan)["needs"][0]["ranges"]
    assert [(row["range"], row["lines"]) for row in rows] == [(LOW, 2), (HIGH, 1)]


def test_powers_and_tuning_width_of_the_route() -> None:
    row = _bought(_two_stops(), ranges=_ranges(transmitter_span_hz=10_000_000))["needs"][0][
        "ranges"
    ][0]
    assert row["powers"] == [
        {"power_mw": 10.0, "power_kind": "EIRP", "stops": ["chicago-1"]},
        {"power_mw": 50.0, "power_kind": "EIRP", "stops": ["omaha-1", "chicago-1"]},
    ]
    # Lead moves from 471.0 to 490.0 MHz, Guitar from 480.5 to 481.0; the spare is not a line
    assert row["widest_line_mhz"] == 19.0


def test_chassis_are_counted_at_the_hardest_stop() -> None:
    ranges = _ranges(chassis_channels=2, chassis_span_hz=5_000_000)
    chassis = _bought(_two_stops(), ranges=ranges)["needs"][0]["ranges"][0]["chassis"]
    # 471.0 and 480.5 MHz do not share 5 MHz; 490.0 and 481.0 do not either
    assert chassis == {"channels": 2, "span_mhz": 5.0, "wanted": 2, "get": 2}
    owned = (Owned(range_key=LOW, receivers=2, transmitters=0),)
    found = _bought(_two_stops(), ranges=ranges, owned=owned)["needs"][0]["ranges"][0]
    assert found["chassis"]["get"] == 1
    assert _bought(_two_stops())["needs"][0]["ranges"][0]["chassis"] is None


def _brute_chassis(frequencies: list[int], channels: int, span: int) -> int:
    """Return the least number of groups over every way to put carriers into chassis."""
    best = len(frequencies)
    for labels in itertools.product(range(len(frequencies)), repeat=len(frequencies)):
        groups: dict[int, list[int]] = {}
        for label, frequency in zip(labels, frequencies, strict=True):
            groups.setdefault(label, []).append(frequency)
        if all(len(g) <= channels and max(g) - min(g) <= span for g in groups.values()):
            best = min(best, len(groups))
    return best


@given(
    frequencies=st.lists(st.integers(0, 30), min_size=1, max_size=5),
    channels=st.integers(1, 4),
    span=st.integers(0, 20),
)
def test_no_filling_needs_fewer_chassis(frequencies: list[int], channels: int, span: int) -> None:
    found = fewest_chassis(frequencies, channels=channels, span_hz=span)
    assert found == _brute_chassis(frequencies, channels, span)


def _combination(rank: int, ears: str, vocals: str, **more: Any) -> Document:
    return {
        "ranges": {"vocals": [vocals], "ears": [ears]},
        "rank": rank,
        "stops": 2,
        "confirmed_met": 2,
        "stops_met": 2,
        "worst_stop": STOPS[1],
        "worst_headroom": {"vocals": 0, "ears": 0},
        "retunes": 4,
        "why": f"place {rank}",
        "headrooms": {name: {"vocals": 0, "ears": 5} for name in STOPS},
        **more,
    }


def _joint() -> Document:
    worse = {STOPS[0]: {"vocals": 1, "ears": 5}, STOPS[1]: {"vocals": -3, "ears": 5}}
    rows = [
        _combination(1, "Willow", LOW),
        _combination(
            2,
            "Willow",
            HIGH,
            confirmed_met=1,
            stops_met=1,
            headrooms=worse,
            worst_headroom={"vocals": -3, "ears": 0},
        ),
        _combination(3, "Aspen", HIGH, retunes=9),
    ]
    return _two_stops(
        combinations=rows, needs=[{"name": "vocals", "spares": 3}, {"name": "ears", "spares": 0}]
    )


def test_what_else_would_do_costs_carriers_at_its_worst_stop() -> None:
    (row,) = instead_documents(_joint(), "vocals")
    assert (row["ranges"], row["joint"], row["stops_met"]) == ([HIGH], True, 1)
    assert (row["worst_stop"], row["headroom"], row["cost"]) == (STOPS[1], -3, 3)
    assert instead_documents(_joint(), "ears") == []


def test_an_alternative_that_was_only_counted_alone_says_so() -> None:
    common = {"need": "vocals", "stops": 2, "worst_stop": STOPS[1], "why": "x"}
    ranking = [
        common
        | {"range": LOW, "rank": 1, "stops_met": 2, "worst_headroom": 2}
        | {"headrooms": {STOPS[0]: 2, STOPS[1]: 5}},
        common
        | {"range": HIGH, "rank": 2, "stops_met": 1, "worst_headroom": -1}
        | {"headrooms": {STOPS[0]: 1, STOPS[1]: -1}},
        common
        | {"range": "Elm 614-616", "rank": 3, "stops_met": 0, "worst_headroom": -9}
        | {"headrooms": {STOPS[0]: -9, STOPS[1]: -9}},
    ]
    (row,) = instead_documents(_two_stops(ranking=ranking), "vocals")
    assert (row["ranges"], row["joint"]) == ([HIGH], False)
    # 5 found by the choice at Chicago, 1 short by this range
    assert (row["headroom"], row["cost"]) == (-1, 6)


def test_the_runner_up_and_what_sets_it_behind() -> None:
    plan = _joint()
    runner = runner_up_document(plan)
    assert runner is not None
    assert runner["ranges"]["vocals"] == [HIGH]
    assert runner["behind"] == "met at 1 of the confirmed stops, the choice at 2"
    plan["combinations"][1] |= {"confirmed_met": 2, "stops_met": 2}
    again = runner_up_document(plan)
    assert again is not None
    assert again["behind"] == "3 carriers fewer at its worst stop, chicago-1"
    plan["combinations"] = plan["combinations"][:1]
    assert runner_up_document(plan) is None


def test_a_stop_left_out_that_would_change_the_winner() -> None:
    found = [(row["code"], row["stop"], row["text"]) for row in changes_document(_joint())]
    text = f"without chicago-1, {HIGH} for vocals would come first"
    assert found == [("drop-stop", STOPS[1], text)]


def test_spares_given_up_that_would_change_the_winner() -> None:
    plan = _joint()
    # with 3 spares less the choice has 1 to spare (in-ears bind), the other 2
    plan["combinations"][0]["headrooms"] = {stop: {"vocals": 0, "ears": 1} for stop in STOPS}
    plan["combinations"][1]["headrooms"] = {stop: {"vocals": -1, "ears": 5} for stop in STOPS}
    plan["combinations"].pop()
    found = [(row["code"], row["stop"], row["text"]) for row in changes_document(plan)]
    text = f"without the 3 spare frequencies of vocals, {HIGH} for vocals would come first"
    assert found == [("fewer-spares", None, text)]


def test_an_order_that_the_headrooms_do_not_explain_is_not_second_guessed() -> None:
    plan = _joint()
    plan["combinations"][2]["headrooms"] = {stop: {"vocals": 9, "ears": 9} for stop in STOPS}
    assert changes_document(plan) == []


def test_cures_count_only_where_nothing_is_missing_afterwards() -> None:
    plan = _two_stops()
    cures = [
        {"cure": "licence", "text": "hold part-74", "missing_after": 0},
        {"cure": "faint", "text": "use faint spans", "missing_after": 2},
    ]
    plan["stops"][1]["short"] = [{"need": "vocals", "missing": 3, "binding": "", "cures": cures}]
    assert [row["text"] for row in changes_document(plan)] == ["at chicago-1, vocals: hold part-74"]


def test_whose_licence_it_is_and_where_it_is_needed() -> None:
    licences = (
        Licence(country="US", kind="part-74", holder="Rig Hire Ltd", valid_to=dt.date(2027, 12, 1)),
        Licence(country="US", kind="part-74", holder="", stops=(STOPS[0],)),
    )
    plan = _two_stops()
    for row in plan["stops"][1]["carriers"]:
        row |= {"licence": "part-74", "holder": "Rig Hire Ltd"}
    found = _bought(plan, licences=licences)
    assert [(row["holder"], row["stops_used"], row["carriers"]) for row in found["papers"]] == [
        ("Rig Hire Ltd", [STOPS[1]], 2),
        ("", [], 0),
    ]
    asked = {row["code"]: row["text"] for row in found["questions"]}
    assert "whose licence is it?" in asked["holder-unknown"]
    assert "no-licence" not in asked


def test_a_whole_plan_says_whose_licence_its_carriers_stand_on() -> None:
    licences = (Licence(country="US", kind="part-74", holder="Rig Hire Ltd"),)
    # 250 mW is above what is licence-exempt
    found = document(planned(licences=licences, ranges=[gear(powers_mw=(10.0, 250.0))]))
    (paper,) = found["buying"]["papers"]
    standing = [row for row in found["stops"][0]["carriers"] if row["licence"] == "part-74"]
    assert standing
    assert (paper["carriers"], paper["stops_used"]) == (len(standing), ["here"])
    exempt = document(planned())
    assert exempt["buying"]["papers"] == []
    assert {row["licence"] for row in exempt["stops"][0]["carriers"]} == {None}


def test_a_whole_plan_counts_its_pieces_and_fits_the_schema() -> None:
    found = document(planned(owned=(Owned(range_key="Alder 470.1-607.9", receivers=1),)))
    (row,) = found["buying"]["needs"][0]["ranges"]
    assert row["channels"] == {"wanted": 2, "owned": 1, "get": 1}
    assert row["powers"][0]["power_mw"] == 50.0
    text = files("planner").joinpath("plan/passband-plan-1.schema.json").read_text("utf-8")
    faults = jsonschema.Draft202012Validator(json.loads(text)).iter_errors(found)
    assert [fault.message for fault in faults] == []


def _questions(**more: Any) -> dict[str, tuple[str, str]]:
    found = _bought(_two_stops(), **more)
    return {row["code"]: (row["to"], row["text"]) for row in found["questions"]}


def test_open_questions_go_to_whom_they_concern() -> None:
    asked = _questions(ranges=_ranges(status="discontinued", note="guards from memory"))
    assert {code: to for code, (to, _) in asked.items()} == {
        "discontinued": "rental house",
        "stock-unknown": "rental house",
        "chassis-unknown": "rental house",
        "figures-unconfirmed": "rental house",
        "power-setting": "rental house",
        "no-spare-piece": "ourselves",
        "no-licence": "ourselves",
    }
    assert asked["power-setting"][1] == f"{LOW}: can every piece be set to 10, 50 mW (EIRP)?"


def test_questions_that_the_catalogue_answers_are_not_asked() -> None:
    ranges = _ranges(available=2, chassis_channels=4, transmitter_span_hz=44_000_000)
    licences = (Licence(country="US", kind="part-74", holder="X"),)
    asked = _questions(ranges=ranges, wanted=need(units_per_line=1), licences=licences)
    assert set(asked) == {"power-setting", "no-spare-piece"}
    short = _questions(
        ranges=_ranges(available=1, chassis_channels=4, transmitter_span_hz=10_000_000),
        wanted=need(units_per_line=2),
        licences=licences,
    )
    assert set(short) == {"power-setting", "stock-short", "transmitter-span"}
    assert short["stock-short"][1].startswith(f"{LOW}: 1 in stock, 2 channels and 4 carried")


def test_a_need_that_nothing_serves_is_asked_for_and_the_same_input_gives_the_same_summary() -> (
    None
):
    plan = _two_stops(choice={})
    found = _bought(plan)
    assert found["needs"][0]["ranges"] == []
    assert "no-range" in {row["code"] for row in found["questions"]}
    assert found == _bought(plan)


def test_countries_come_in_route_order_with_their_days() -> None:
    plan = _two_stops()
    plan["stops"].append(_stop("yuma-1", [], first_date="2027-02-01", country="PR"))
    asked: Tour = tour([stop()], [need()])
    found = buying_document(dataclasses.replace(asked), _ranges(), plan)
    assert found["countries"] == [
        {"country": "US", "first_date": "2027-03-04", "last_date": "2027-03-05"}
        | {"stops": list(STOPS)},
        {"country": "PR", "first_date": "2027-02-01", "last_date": "2027-03-05"}
        | {"stops": ["yuma-1"]},
    ]
