"""View records: exact facts, before any page is drawn."""

from __future__ import annotations

from typing import Any

import pytest

from planner.report import words
from planner.report.reading import (
    air_of,
    chosen_ranges,
    merged,
    names_stop,
    need_names,
    place_of,
    playing_stops,
    stop_of,
)
from planner.report.views.buying import buying_view, headroom_words
from planner.report.views.carriers import CarrierView, ShortView, carriers_view, shortage
from planner.report.views.channels import TransmitterView, channels_view, runs
from planner.report.views.law import LawRow, law_view, licence, spans
from planner.report.views.notes import notes_view
from planner.report.views.stop import stop_view
from tests.report import sample_plan as sample

Plan = dict[str, Any]


def test_one_carrier_exactly(plan: Plan) -> None:
    view = carriers_view(plan, stop_of(plan, "chicago-1"))
    assert view.needs[0].lines[1] == CarrierView(
        name="Gitarre Süd",
        need="vocals",
        use="mic, hand-held",
        mhz="489.075",
        bandwidth="200",
        power="30 mW EIRP",
        range=sample.MIC_RANGE,
        channel="17",
        change="to fit in",
        previous_mhz="482.775",
        product="2A-B, 125 kHz",
        formula="2 x 470.350 - 471.000",
        noise_rise="0.5",
        working_range="\u2013",
        pair="",
        air="quiet",
        law="lawful",
        rule_mark="a",
        stands_in_for="",
        remarks=(),
        spare=False,
        form="hand-held",
        frequency_mhz=489.075,
    )
    assert [row.change for row in view.needs[0].lines[:3]] == ["forced", "to fit in", "forced"]
    assert view.retunes == 5


def test_needs_keep_their_order_with_spares_last_and_fixed_apart(plan: Plan) -> None:
    view = carriers_view(plan, stop_of(plan, "omaha-1"))
    assert [(need.name, need.found, need.wanted) for need in view.needs] == [
        ("vocals", "9 + 2 spares", "8 + 1 spare"),
        ("ears", "4 + 1 spare", "4 + 1 spare"),
    ]
    assert [row.name for row in view.needs[0].spares] == ["vocals spare 1", "look-first spare"]
    assert view.needs[0].spares[0].stands_in_for == "Lead and Gitarre Süd"
    assert [row.name for row in view.fixed] == ["house mic"]
    assert [(rule.mark, rule.text) for rule in view.rules] == [
        ("a", sample.RULE_TV),
        ("b", sample.RULE_GAP),
    ]
    assert view.needs[0].mixed
    assert not view.needs[1].mixed


def test_every_unlisted_carrier_says_not_checked_and_every_faint_one_look_first(
    plan: Plan,
) -> None:
    view = carriers_view(plan, stop_of(plan, "omaha-1"))
    marks = {row.name: row.remarks for row in view.all if row.remarks}
    assert marks.pop("Lead") == ("pair: 6.2 MHz",)
    assert marks == {"gap mic": ("not checked",), "look-first spare": ("look first",)}


def test_a_carrier_that_touches_two_spans_takes_the_worse_air(plan: Plan) -> None:
    stop = stop_of(plan, "omaha-1")
    edge = {"frequency_mhz": 506.0, "bandwidth_khz": 200.0}
    assert air_of(stop, edge) == "held"
    assert air_of(stop, edge | {"frequency_mhz": 505.9}) == "quiet"
    assert air_of(stop, edge | {"frequency_mhz": 700.0}) == ""


def test_a_fixed_carrier_on_a_held_span_is_not_called_clear(plan: Plan) -> None:
    stop = stop_of(plan, "omaha-1")
    next(row for row in stop["carriers"] if row["fixed"])["frequency_mhz"] = 508.0
    assert carriers_view(plan, stop).fixed[0].remarks == ("not clear: held",)


def test_a_shortage_in_plain_words(plan: Plan) -> None:
    view = carriers_view(plan, stop_of(plan, "chicago-1"))
    assert view.short == (
        ShortView(
            need="vocals",
            sentence="4 carriers of “vocals” are missing here.",
            binding="2A-B and A+B-C products in 488-494 MHz",
            cures=(
                "take Rowan 518-607.9 as well",
                "leave out 2 spares <now> (2 still missing)",
            ),
        ),
    )
    assert view.needs[0].short


def test_missing_blocks_are_called_blocks(plan: Plan) -> None:
    row = stop_of(plan, "chicago-1")["short"][0]
    row |= {"missing": 16, "missing_blocks": 1}
    assert shortage(row).sentence == "1 block of “vocals” is missing here."


def test_a_need_with_nothing_found_still_shows(plan: Plan) -> None:
    view = carriers_view(plan, stop_of(plan, "Denver/../<1>"))
    assert [(need.name, need.found, need.wanted) for need in view.needs] == [
        ("vocals", "0", "8 + 1 spare"),
        ("ears", "0", "4 + 1 spare"),
    ]


def test_channels_with_something_to_say_and_the_silent_rest(plan: Plan) -> None:
    view = channels_view(plan, stop_of(plan, "omaha-1"), "km")
    assert [(row.channel, row.air, row.law) for row in view.channels] == [
        ("14", "faint", "lawful"),
        ("16", "quiet", "lawful"),
        ("20", "held", "barred"),
        ("25", "faint", "lawful"),
    ]
    assert view.silent == "15, 17\u201319, 21\u201324, 26\u201336"
    assert view.silent_noise == "0.1"
    assert view.partial
    assert view.field_height == "9.1"
    assert view.channels[2].transmitters == (
        TransmitterView(
            name=sample.SCRIPT_NAME,
            station_id="demo-020",
            service="full",
            distance="12.3",
            bearing="047°",
            field_50_50="88.1",
            field_50_10="94.5",
            outside="inside by 72.5",
        ),
    )
    assert view.channels[0].noise_rise == "7.9 to 8.2"


def test_transmitters_stand_in_order_of_effect_and_the_rest_is_counted(plan: Plan) -> None:
    stop = stop_of(plan, "omaha-1")
    row = stop["channels"][6]["transmitters"][0]
    fields = [(30.0, 12.0), (90.0, 50.0), (60.0, 40.0), (20.0, -3.0), (10.0, 99.0), (None, None)]
    stop["channels"][6]["transmitters"] = [
        row | {"field_50_10_dbuv_m": field, "outside_contour_km": outside}
        for field, outside in fields
    ]
    view = channels_view(plan, stop, "km").channels[2]
    assert [line.field_50_10 for line in view.transmitters] == ["20.0", "90.0", "60.0", "30.0"]
    assert view.weaker == 2 + 3


def test_reasons_that_channels_share_are_said_once_and_figures_in_the_row_not_again(
    plan: Plan,
) -> None:
    view = channels_view(plan, stop_of(plan, "omaha-1"), "km")
    assert view.shared == (("14\u201319, 21\u201336", f"lawful by {sample.RULE_TV}"),)
    assert {row.channel: row.reasons for row in view.channels} == {
        "14": (),
        "16": (),
        "20": (f"barred by {sample.RULE_TV}",),
        "25": (),
    }


def test_neighbours_that_say_the_same_are_one_row(plan: Plan) -> None:
    view = channels_view(plan, stop_of(plan, "Denver/../<1>"), "km")
    rows_said = [(row.channel, row.span, row.air, row.law) for row in view.channels]
    assert rows_said == [
        ("14\u201335", "470\u2013602", "unlisted", "on-request"),
        ("36", "602\u2013608", "held", "barred"),
    ]
    del plan["stops"][2]["channels"][4]
    view = channels_view(plan, stop_of(plan, "Denver/../<1>"), "km")
    assert [row.channel for row in view.channels] == ["14\u201317", "19\u201335", "36"]


def test_a_contour_reason_is_dropped_only_while_its_station_stands_in_the_row(plan: Plan) -> None:
    channel = stop_of(plan, "omaha-1")["channels"][6]
    channel["reasons"] = [{"code": "contour", "text": "inside", "station_id": "demo-020"}]
    stop = stop_of(plan, "omaha-1")
    assert channels_view(plan, stop, "km").channels[2].reasons == ()
    channel["transmitters"] = []
    assert channels_view(plan, stop, "km").channels[2].reasons == ("inside",)


def test_a_noise_reason_is_kept_where_no_figure_stands_in_the_row(plan: Plan) -> None:
    stop = stop_of(plan, "omaha-1")
    stop["channels"][0]["noise_rise_most_db"] = None
    reasons = channels_view(plan, stop, "km").channels[0].reasons
    assert reasons == ("noise rise 8.2 dB for 10 % of the time",)


def test_a_caution_on_a_quiet_channel_is_not_silent(plan: Plan) -> None:
    stop = stop_of(plan, "omaha-1")
    stop["channels"][1]["reasons"].append({"code": "near", "text": "129 km", "station_id": None})
    assert channels_view(plan, stop, "km").channels[1].reasons == ("129 km",)


def test_distances_print_in_miles_when_the_tour_says_so(plan: Plan) -> None:
    plan["tour"]["distances"] = "mi"
    view = stop_view(plan, plan["stops"][0])
    # 131.07 km / 1.609344 km a mile = 81.44 mi; the location error 0.1 km = 0.06 mi
    assert view.channels.channels[0].transmitters[0].distance == "81.4"
    assert dict(view.facts)["Position"].endswith("(within 0.1 mi)")


def test_runs_follow_the_order_of_the_raster() -> None:
    order = ["8", "9", "9A", "10", "11"]
    assert runs(["8", "9", "9A", "11"], order) == "8\u20139A, 11"
    assert runs([], order) == ""


def test_what_the_law_asks_is_joined_where_nothing_changes(plan: Plan) -> None:
    view = law_view(plan, stop_of(plan, "omaha-1"))
    assert [row.ranges for row in view.ranges] == [
        sample.MIC_RANGE,
        sample.EAR_RANGE,
        sample.GAP_RANGE,
    ]
    assert [(row.span, row.law, row.limit, row.under) for row in view.ranges[0].rows] == [
        ("470\u2013476", "lawful", "50 mW EIRP", "no licence"),
        ("476\u2013482", "lawful", "50 mW EIRP", "part-74, Rig Hire <Ltd>"),
        ("482\u2013506", "lawful", "50 mW EIRP", "no licence"),
        ("506\u2013512", "barred", "\u2013", "\u2013"),
        ("512\u2013518", "lawful", "50 mW EIRP", "no licence"),
    ]
    assert view.ranges[0].rows[0] == LawRow(
        span="470\u2013476",
        law="lawful",
        limit="50 mW EIRP",
        under="no licence",
        rule=sample.RULE_TV,
    )
    assert view.asks == ("Accept all interference <and> cause none (47 CFR 15.236).",)
    assert [(row.range, row.found, row.limit) for row in view.capacity] == [
        (sample.MIC_RANGE, "11", "14"),
        (sample.EAR_RANGE, "9", "9, reached"),
        (sample.GAP_RANGE, "3", "\u2013"),
    ]
    assert view.capacity[0].windows == "470\u2013506, 512\u2013518"


def test_licences_name_their_holder_and_only_those_of_the_stop_show(plan: Plan) -> None:
    row = plan["stops"][1]["licences"][0]
    assert licence(row) == "US: part-74, held by Rig Hire <Ltd> & Söhne, from 2027-01-01"
    row["stops"] = ["chicago-1"]
    assert law_view(plan, plan["stops"][1]).licences == (
        "US: part-74, held by Rig Hire <Ltd> & Söhne, from 2027-01-01, at chicago-1 only",
    )


def test_a_licence_of_the_tour_that_does_not_serve_a_stop_is_not_on_its_sheet(plan: Plan) -> None:
    plan["stops"][0]["licences"] = []
    assert plan["tour"]["licences"]
    assert law_view(plan, plan["stops"][0]).licences == ()


def test_warnings_of_a_stop_stand_apart_from_those_of_the_tour(plan: Plan) -> None:
    view = notes_view(plan, plan["stops"][1])
    assert [(group.code, group.count) for group in view.own] == [("fixed-not-clear", 1)]
    assert [(group.code, group.count, group.more) for group in view.tour] == [
        ("table-old", 1, 0),
        ("haat-assumed", 38, 36),
    ]
    assert notes_view(plan, plan["stops"][0]).own == ()


@pytest.mark.parametrize(
    ("where", "named"),
    [("omaha-1", True), ("stop omaha-1, house mic", True), ("omaha-10", False), ("omaha", False)],
)
def test_a_stop_is_named_by_its_whole_id(where: str, named: bool) -> None:  # noqa: FBT001
    assert names_stop(where, "omaha-1") is named


def test_sources_settings_coverage_and_the_sentence_always_said(plan: Plan) -> None:
    view = notes_view(plan)
    assert view.sources[1].sha256 == "0123456789ab"
    assert view.sources[1].issued == "2017-04-13"
    assert ("noise rise limit [dB]", "6") in view.settings
    assert view.coverage == (
        (
            "us-demo.csv (issued 2017-04-13) holds full and class-a of US, 54\u2013608 MHz. "
            "It lacks: no translators, no low-power stations."
        ),
        "Nothing in the table is never nothing on the air.",
    )
    assert notes_view(plan, plan["stops"][2]).coverage == (
        "No table for <MX>.",
        "Nothing in the table is never nothing on the air.",
    )
    plan["inputs"] = []
    assert notes_view(plan).coverage == ("Nothing in the table is never nothing on the air.",)


def test_the_head_of_a_sheet(plan: Plan) -> None:
    view = stop_view(plan, plan["stops"][2])
    assert view.issue == "issue 2, replaces 1"
    assert view.days == "Tue 2027-03-09"
    assert dict(view.facts) == {
        "Country": "US",
        "Load-in": "08:00",
        "Setting": "unknown, computed as outdoor; antennas at 3 m",
        "Position": "41.2565° N, 95.9345° W (within 0.1 km)",
        "Rig": "A",
        "Stop": "Denver/../<1>",
    }


def test_cancelled_stops_are_not_played(plan: Plan) -> None:
    assert [stop["id"] for stop in playing_stops(plan)] == ["omaha-1", "chicago-1", "Denver/../<1>"]


def test_the_buying_summary(plan: Plan) -> None:
    view = buying_view(plan)
    vocals = view.needs[0]
    assert (vocals.channels, vocals.units, vocals.units_sum, vocals.spares) == (
        "8",
        "16",
        "8 \u00d7 2",
        "1",
    )
    assert vocals.worst == "Worst stop: Chicago, 4 short."
    assert [(row.rank, row.chosen, row.met, row.headroom) for row in vocals.ranking] == [
        ("1", True, "2 of 3", "\u22124"),
        ("2", False, "0 of 3", "\u22128"),
    ]
    assert view.full == "548\u2013554"
    assert view.deepest[:3] == (
        ("548\u2013554", "usable at 3 of 3"),
        ("657\u2013663", "usable at 3 of 3"),
        ("554\u2013608", "usable at 2 of 3"),
    )
    assert view.days == "Thu 2027-03-04 to Tue 2027-03-09"
    assert [(leg.first, leg.last, leg.count) for leg in view.legs] == [
        ("Omaha", "Omaha", "3 carriers"),
        ("Chicago", "Denver", "0 carriers"),
    ]
    assert view.legs[0].house == (("vocals", "482.125, 482.800"), ("ears", "548.33125"))
    assert view.costs == (("Chicago", "48"), ("Denver", "12.5"))
    assert [row.place for row in view.short] == ["Chicago, IL, US (chicago-1)"]


def test_what_the_planner_may_leave_out(plan: Plan) -> None:
    for key in ("needs", "choice", "ranking", "common", "combinations", "deadlines"):
        plan[key] = None
    del plan["tour"]["paper"], plan["tour"]["distances"]
    view = buying_view(plan)
    assert [need.channels for need in view.needs] == ["\u2013", "\u2013"]
    assert view.full_empty
    assert carriers_view(plan, plan["stops"][0]).needs[0].wanted == ""
    assert need_names(plan) == ["vocals", "ears"]


def test_a_town_is_told_apart_only_where_the_route_returns(plan: Plan) -> None:
    assert place_of(plan, "chicago-1") == "Chicago"
    plan["stops"][3] |= {"place": "Chicago, IL, US"}
    assert place_of(plan, "chicago-1") == "Chicago (chicago-1)"
    assert place_of(plan, "nowhere-1") == "nowhere-1"
    assert place_of(plan, None) == ""


def test_a_spare_for_every_line_needs_no_list(plan: Plan) -> None:
    stop = stop_of(plan, "omaha-1")
    spare = next(row for row in stop["carriers"] if row["name"] == "vocals spare 1")
    lines = [row["name"] for row in stop["carriers"] if row["need"] == "vocals"]
    spare["stands_in_for"] = lines
    assert carriers_view(plan, stop).needs[0].spares[0].stands_in_for == ""


def test_the_choice_of_the_planner_goes_before_the_first_rank(plan: Plan) -> None:
    plan["choice"] = {"vocals": [sample.GAP_RANGE, sample.MIC_RANGE]}
    assert chosen_ranges(plan, "vocals") == [sample.GAP_RANGE, sample.MIC_RANGE]
    assert chosen_ranges(plan, "ears") == [sample.EAR_RANGE]
    assert chosen_ranges(plan, "nobody") == []


@pytest.mark.parametrize(
    ("headroom", "expected"),
    [(None, "not counted"), (-4, "4 short"), (0, "just met"), (2, "2 to spare")],
)
def test_headroom_in_words(headroom: int | None, expected: str) -> None:
    assert headroom_words(headroom) == expected


def test_spans_join_only_where_they_touch_and_agree() -> None:
    parts = [
        {"low_mhz": 476.0, "high_mhz": 482.0, "air": "quiet"},
        {"low_mhz": 470.0, "high_mhz": 476.0, "air": "quiet"},
        {"low_mhz": 482.0, "high_mhz": 488.0, "air": "held"},
        {"low_mhz": 500.0, "high_mhz": 506.0, "air": "held"},
    ]
    assert list(merged(parts, ("air",))) == [
        (470.0, 482.0, ("quiet",)),
        (482.0, 488.0, ("held",)),
        (500.0, 506.0, ("held",)),
    ]
    assert spans([[482.0, 488.0], [470.0, 482.0], [500.0, 501.0]]) == "470\u2013488, 500\u2013501"


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (None, "\u2013"),
        (0.0, "<1 %"),
        (0.0049, "<1 %"),
        (0.633, "63 %"),
        (0.9949, "99 %"),
        (1.0, ">99 %"),
    ],
)
def test_a_chance_is_never_called_certain(share: float | None, said: str) -> None:
    assert words.chance(share) == said


def test_chances_stand_beside_what_they_belong_to(plan: Plan) -> None:
    channel = stop_of(plan, "omaha-1")["channels"][0]
    channel["chance_clear"] = 0.26
    views = {
        row.channel: row for row in channels_view(plan, stop_of(plan, "omaha-1"), "km").channels
    }
    assert views[str(channel["channel"])].chance == "26 %"
    held = next(row for row in stop_of(plan, "omaha-1")["channels"] if row["air"] == "held")
    held["chance_clear"] = 0.0
    views = {
        row.channel: row for row in channels_view(plan, stop_of(plan, "omaha-1"), "km").channels
    }
    assert views[str(held["channel"])].chance == "\u2013"
    plan["combinations"][0]["chance_all_stops"] = 0.4
    first = next(row for row in buying_view(plan).combinations if row.rank == "1")
    assert first.chance == "40 %"


def test_neighbours_of_different_chances_are_two_rows(plan: Plan) -> None:
    stop = stop_of(plan, "Denver/../<1>")
    stop["channels"][1]["chance_clear"] = 0.5
    assert [row.channel for row in channels_view(plan, stop, "km").channels][:2] == ["14", "15"]
