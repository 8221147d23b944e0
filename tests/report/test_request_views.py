"""View records of what people state and of the request list: exact facts before any page."""

from __future__ import annotations

from typing import Any

import pytest

from planner.report import words
from planner.report.reading import stop_of
from planner.report.views.buying import buying_view
from planner.report.views.carriers import carriers_view
from planner.report.views.combinations import combination_views
from planner.report.views.people import AtRiskView, ClearedView, OtherView, people_view
from planner.report.views.request import InsteadView, ItemView, RequestView, request_view
from tests.report import sample_plan as sample

Plan = dict[str, Any]


@pytest.fixture
def omaha(plan: Plan) -> Plan:
    return dict(stop_of(plan, "omaha-1"))


@pytest.fixture
def request_list(plan: Plan) -> RequestView:
    found = request_view(plan)
    assert found is not None
    return found


def test_whose_licence_it_is_stands_with_the_carriers_that_need_it(omaha: Plan) -> None:
    assert people_view(omaha).licences == ("Rig Hire <Ltd> & Söhne (part-74), for 1 carrier here",)
    omaha["carriers"][1] |= {"licence": "part-74", "holder": None}
    omaha["carriers"][2] |= {"licence": "part-74", "holder": None}
    assert people_view(omaha).licences[1] == (
        "holder not named: ask before the show (part-74), for 2 carriers here"
    )


def test_others_on_the_air_with_when_and_what_we_do_about_them(omaha: Plan) -> None:
    assert people_view(omaha).others == (
        OtherView(
            owner="support act <b>",
            mhz="518.200",
            active="14:00\u201320:30",
            kept_off="our products kept off it",
        ),
        OtherView(
            owner="news crew",
            mhz="560\u2013566",
            active="all day",
            kept_off="heeded as a source only",
        ),
    )


def test_a_cleared_span_names_who_when_and_on_what_ground(omaha: Plan) -> None:
    first, second = people_view(omaha).cleared
    assert first == ClearedView(
        span="530\u2013536",
        basis="on-site measurement",
        level="\u221291.0 dBm",
        date="2027-03-04",
        by="engineer <on duty>",
        text="",
    )
    assert (second.level, second.date, second.by) == ("", "no date", "nobody named")


def test_assignments_used_and_those_to_send_back_with_the_reason(omaha: Plan) -> None:
    view = people_view(omaha)
    assert [(row.mhz, row.used_by, row.power) for row in view.assigned] == [
        ("482.125", "Lead", "50 mW")
    ]
    assert [(row.mhz, row.why, row.reference) for row in view.sent_back] == [
        ("519.400", "2A-B of <482.125>", "No. 12 & 13")
    ]


def test_verdicts_that_hang_on_the_coordinates_say_only_what_would_change(omaha: Plan) -> None:
    view = people_view(omaha)
    assert view.frees == "The venue\u2019s coordinates would free 2 TV channels."
    assert view.at_risk == (
        AtRiskView(channel="20", span="506\u2013512", now="held, barred", at_point="quiet, lawful"),
        AtRiskView(channel="25", span="536\u2013542", now="faint", at_point="quiet"),
    )


@pytest.mark.parametrize("risk", [None, [], 3])
def test_a_stop_about_which_nobody_said_anything_says_nothing(omaha: Plan, risk: object) -> None:
    for key in ("cleared", "others", "assignments"):
        omaha[key] = None
    view = people_view(omaha | {"verdicts_at_risk": risk, "carriers": []})
    assert (view.licences, view.others, view.cleared, view.at_risk) == ((), (), (), ())
    assert (view.assigned, view.sent_back, view.frees) == ((), (), "")


@pytest.mark.parametrize(
    ("retunes", "text"),
    [
        (None, ""),
        ({"lines": 0, "spares": 0, "forced": 0, "units": 0}, ""),
        (
            {"lines": 1, "spares": 0, "forced": 1, "units": 2},
            (
                "1 line retuned since the last stop of this rig: 1 forced, 0 to fit in; "
                "2 carried pieces to set."
            ),
        ),
        (
            {"lines": 0, "spares": 2, "forced": 0, "units": 0},
            "2 spares retuned since the last stop of this rig: 0 forced, 2 to fit in.",
        ),
        (
            {"lines": 10, "spares": 1, "forced": 11, "units": 20},
            (
                "10 lines and 1 spare retuned since the last stop of this rig: 11 forced, "
                "0 to fit in; 20 carried pieces to set."
            ),
        ),
    ],
)
def test_retunes_in_one_sentence_with_the_forced_ones_apart(
    plan: Plan, omaha: Plan, retunes: object, text: str
) -> None:
    assert carriers_view(plan, omaha | {"retunes": retunes}).moves == text


def test_partners_are_named_with_their_distance_and_marked_only_when_too_near(
    plan: Plan, omaha: Plan
) -> None:
    view = carriers_view(plan, omaha)
    assert view.needs[0].lines[0].pair == "ears Lead, 66.206 MHz away"
    assert view.needs[0].lines[0].remarks == ("assigned",)
    assert view.needs[1].lines[0].remarks == ("pair: 6.2 MHz",)
    omaha["carriers"][0]["pair"] |= {"separation_mhz": None, "kept": False}
    again = carriers_view(plan, omaha).needs[0].lines[0]
    assert again.remarks == ("assigned", "pair: partner not planned")
    assert again.pair == "ears Lead, which is not planned here"


def test_carriers_of_others_are_neither_ours_nor_fixed(plan: Plan, omaha: Plan) -> None:
    view = carriers_view(plan, omaha)
    assert [row.name for row in view.others] == ["support act <b>"]
    assert "support act <b>" not in {row.name for row in view.all}


def test_the_request_counts_what_is_wanted_owned_and_to_get(request_list: RequestView) -> None:
    vocals, ears = request_list.needs
    assert vocals.ranges[0].items == (
        ItemView(what="Receiver channels", note="one a line", wanted="8", owned="3", get="5"),
        ItemView(
            what="Chassis for them",
            note="4 channels each, within 24 MHz",
            wanted="2",
            owned="\u2013",
            get="2",
        ),
        ItemView(what="Hand-helds", note="8 main and 8 spare", wanted="16", owned="4", get="12"),
    )
    assert [item.what for item in ears.ranges[0].items] == [
        "Transmitter channels, in the rack",
        "Packs",
    ]
    assert vocals.ranges[0].stock == "10 in stock: not enough"
    assert ears.ranges[0].stock == "all owned: nothing to get"
    assert ears.ranges[0].discontinued


def test_facts_of_a_range_give_powers_and_tuning(request_list: RequestView) -> None:
    assert request_list.needs[0].ranges[0].facts == (
        "carriers of the route: 471.1\u2013495.2 MHz",
        "one piece tunes 24 MHz, a line moves over 6.275 MHz at most",
        "set to 10 mW EIRP at 1 stop and 30 mW EIRP at 2 stops",
        "catalogue: invented <row>",
    )


def test_a_spare_frequency_is_no_piece_of_gear(request_list: RequestView) -> None:
    assert request_list.needs[0].spares == (
        "1 spare frequency: no pieces of gear; a line in trouble is retuned to one. "
        "To have them stand tuned and ready, ask for 1 channel more."
    )
    assert "ready" not in request_list.needs[1].spares


def test_alternatives_say_what_they_cost_and_how_they_were_judged(
    request_list: RequestView,
) -> None:
    first, second = request_list.needs[0].instead
    assert first == InsteadView(
        ranges=f"{sample.MIC_RANGE} with {sample.GAP_RANGE}",
        met="1 of 3",
        worst_stop="Chicago",
        headroom="6 short",
        cost="2 carriers fewer",
        marks=(),
    )
    assert (second.cost, second.marks) == ("1 carrier more", ("counted alone", "discontinued"))


def test_alternatives_that_were_all_counted_alone_say_so_once(plan: Plan) -> None:
    need = plan["buying"]["needs"][0]
    need["instead"].pop(0)
    found = request_view(plan)
    assert found is not None
    assert found.needs[0].instead[0].marks == ("discontinued",)
    assert found.needs[0].instead_note.startswith("Counted alone")
    assert found.needs[1].instead_note == ""


def test_choice_runner_up_papers_and_questions(request_list: RequestView) -> None:
    assert request_list.choice.why == "Most stops met <of all>."
    assert request_list.choice.worst == "Chicago: vocals 4 short, ears 1 to spare"
    assert request_list.runner_up is not None
    assert request_list.runner_up.why == ("Met at 1 of the stops, the choice at 2 <really>.")
    assert [(row.holder, row.used) for row in request_list.papers] == [
        ("Rig Hire <Ltd> & Söhne", "7 carriers at Omaha and Chicago"),
        ("not named", "no carrier needs it"),
    ]
    assert [to for to, _ in request_list.questions] == ["To the rental house", "To ourselves"]
    assert request_list.countries == ("US: 3 stops, Thu 2027-03-04 to Tue 2027-03-09",)
    assert request_list.left_over == ("Hazel <470>: 2 channels, 1 carried piece",)
    assert request_list.stays == ("house mic: 512.350 MHz, Old Oak 500-530",)


def test_without_a_buying_summary_there_is_no_request(plan: Plan) -> None:
    plan["buying"] = None
    assert request_view(plan) is None
    assert buying_view(plan).request is None


def test_without_a_runner_up_none_is_invented(plan: Plan) -> None:
    plan["buying"]["runner_up"] = None
    found = request_view(plan)
    assert found is not None
    assert found.runner_up is None


def test_combinations_come_in_order_and_the_rest_is_counted(plan: Plan) -> None:
    plan["combinations"].reverse()
    (first,), more = combination_views(plan, 1)
    assert (first.rank, first.met, first.worst_stop, first.retunes) == (
        "1",
        "2 of 3",
        "Chicago",
        "5",
    )
    assert first.ranges == (("vocals", sample.MIC_RANGE), ("ears", sample.EAR_RANGE))
    assert first.headrooms == ("\u22124", "+1")
    assert more == 1


def test_the_standing_of_a_need_is_the_joint_one_where_the_plan_has_it(plan: Plan) -> None:
    ears = buying_view(plan).needs[1]
    assert (ears.met, ears.worst) == ("3 of 3", "Worst stop: Denver, just met.")
    plan["combinations"] = None
    ears = buying_view(plan).needs[1]
    assert (ears.met, ears.worst) == ("3 of 3", "Worst stop: Chicago, 2 to spare.")


def test_sentences_begin_with_a_capital_and_end_once() -> None:
    assert words.sentence("öl. x..") == "Öl. x."
    assert words.sentence("") == ""
