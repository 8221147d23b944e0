"""The published JSON Schema accepts a rich plan and refuses damaged ones, each for its reason."""

from __future__ import annotations

from typing import Any

import jsonschema
import pytest

from tests.report.sample_plan import sample_plan

DAMAGES: dict[str, tuple[list[Any], Any]] = {
    "another schema": (["schema"], "passband-plan/2"),
    "latitude of 95": (["stops", 0, "lat_deg"], 95.0),
    "a date that is none": (["stops", 0, "first_date"], "2027-13-04"),
    "an unknown word for the air": (["stops", 0, "spans", 0, "air"], "free"),
    "an unknown word for the law": (["stops", 0, "channels", 0, "law"], "ok"),
    "a frequency as text": (["stops", 0, "carriers", 0, "frequency_mhz"], "512.350"),
    "a frequency of 0": (["stops", 0, "carriers", 0, "frequency_mhz"], 0),
    "a power kind of our own": (["stops", 0, "carriers", 0, "power_kind"], "dBm"),
    "a window with three edges": (
        ["stops", 0, "ranges", "Alder 470.1-513.9", "windows_mhz", 0],
        [470.0, 476.0, 482.0],
    ),
    "a negative distance": (
        ["stops", 0, "channels", 0, "transmitters", 0, "distance_km"],
        -1.0,
    ),
    "a bearing of 400": (
        ["stops", 0, "channels", 0, "transmitters", 0, "bearing_from_stop_deg"],
        400.0,
    ),
    "a checksum cut short": (["inputs", 0, "sha256"], "abc"),
    "an absolute path": (["inputs", 0, "file"], "/home/user/tour.toml"),
    "a shortage of nothing": (["stops", 1, "short", 0, "missing"], 0),
    "stops that are no list": (["common", "depth", 0, "stops"], "omaha-1"),
    "a ranking without its count": (["ranking", 0, "stops_met"], None),
    "an issue of 0": (["made", "issue"], 0),
    "a cure of our own making": (["stops", 1, "short", 0, "cures", 0], {"cure": "luck"}),
    "a channel at risk without its law": (["stops", 0, "verdicts_at_risk", 0, "law"], None),
    "a ground for clearing that is none": (["stops", 0, "cleared", 0, "basis"], "a feeling"),
    "an other without an owner": (["stops", 0, "others", 0, "owner"], None),
    "an assignment without a frequency": (["stops", 0, "assignments", 0, "frequency_mhz"], None),
    "a pair without its need": (["stops", 0, "carriers", 0, "pair"], {"name": "Lead"}),
    "minus one retune": (["stops", 0, "retunes", "lines"], -1),
    "a choice that is no list": (["choice", "vocals"], 3),
    "a headroom as text": (["combinations", 0, "headrooms", "omaha-1", "vocals"], "2"),
    "minus one piece owned": (["owned", 0, "receivers"], -1),
    "minus one piece to get": (
        ["buying", "needs", 0, "ranges", 0, "carried", "get"],
        -1,
    ),
    "a question to nobody": (["buying", "questions", 0, "to"], "the moon"),
    "null warnings": (["warnings"], None),
}

CONTRACT: dict[str, tuple[list[Any], str]] = {
    "plan": (
        [],
        (
            "schema tour made inputs transmitters stops common ranking combinations hookup "
            "deadlines warnings cautions"
        ),
    ),
    "tour": (["tour"], "name licences settings"),
    "made": (["made"], "version seed effort steps issue replaces"),
    "input": (["inputs", 0], "file sha256 rows issued coverage"),
    "transmitter": (
        ["transmitters", "demo-014"],
        (
            "name country service channel low_mhz high_mhz lat_deg lon_deg erp_kw haat_m "
            "haat_assumed table contours"
        ),
    ),
    "contours": (["transmitters", "demo-014", "contours"], "law cautious"),
    "stop": (
        ["stops", 0],
        (
            "id place venue country lat_deg lon_deg location_error_km first_date last_date setting "
            "rig verdicts_at_risk channels spans ranges carriers short"
        ),
    ),
    "channel": (
        ["stops", 0, "channels", 0],
        (
            "channel low_mhz high_mhz air law coverage reasons chance_clear noise_rise_least_db "
            "noise_rise_most_db transmitters"
        ),
    ),
    "reason": (["stops", 0, "channels", 0, "reasons", 0], "code text station_id"),
    "reaching": (
        ["stops", 0, "channels", 0, "transmitters", 0],
        (
            "station_id distance_km bearing_from_stop_deg azimuth_from_transmitter_deg "
            "erp_toward_stop_kw field_50_50_dbuv_m field_50_10_dbuv_m field_height_m sigma_db "
            "contour_law_km contour_cautious_km outside_contour_km"
        ),
    ),
    "span": (["stops", 0, "spans", 0], "low_mhz high_mhz air law reasons"),
    "range": (
        ["stops", 0, "ranges", "Alder 470.1-513.9"],
        "law_spans windows_mhz usable_mhz carriers_found carriers_limit proven",
    ),
    "law span": (
        ["stops", 0, "ranges", "Alder 470.1-513.9", "law_spans", 0],
        "low_mhz high_mhz law limit_mw limit_kind rule",
    ),
    "carrier": (
        ["stops", 0, "carriers", 0],
        (
            "name need role form zone range frequency_mhz bandwidth_khz power_mw power_kind law "
            "rule channel spare spare_grade stands_in_for fixed other assigned retuned forced "
            "previous_frequency_mhz nearest_product noise_rise_db working_range_m"
        ),
    ),
    "product": (["stops", 0, "carriers", 0, "nearest_product"], "order formula offset_khz"),
    "short": (["stops", 1, "short", 0], "need missing binding cures"),
    "common": (["common"], "full_windows_mhz depth legs"),
    "depth": (["common", "depth", 0], "low_mhz high_mhz stops"),
    "leg": (["common", "legs", 0], "first last house_carriers"),
    "rank": (
        ["ranking", 0],
        (
            "need range rank stops_met stops worst_stop worst_headroom worst_headroom_limit "
            "common_usable_mhz why"
        ),
    ),
    "warning": (["warnings", 0], "code where text"),
    "cure": (["stops", 1, "short", 0, "cures", 0], "cure text missing_after"),
    "at risk": (
        ["stops", 0, "verdicts_at_risk", 0],
        "channel low_mhz high_mhz air air_at_point law law_at_point",
    ),
    "cleared": (["stops", 0, "cleared", 0], "low_mhz high_mhz basis level_dbm date by text"),
    "other": (
        ["stops", 0, "others", 0],
        "owner frequency_mhz low_mhz high_mhz active protect zone",
    ),
    "assignment": (
        ["stops", 0, "assignments", 0],
        "need reference power_mw frequency_mhz used_by why",
    ),
    "retunes": (["stops", 0, "retunes"], "lines spares forced units"),
    "owned": (["owned", 0], "range receivers transmitters"),
    "buying": (
        ["buying"],
        ("choice runner_up would_change needs stays owned_left_over countries papers questions"),
    ),
    "bought need": (
        ["buying", "needs", 0],
        (
            "need role form lines units_per_line spare_frequencies spare_grade ready_channels "
            "ranges instead"
        ),
    ),
    "bought range": (
        ["buying", "needs", 0, "ranges", 0],
        (
            "range low_mhz high_mhz used_low_mhz used_high_mhz lines spare_frequencies channels "
            "carried chassis available suffices status note powers transmitter_span_mhz "
            "widest_line_mhz"
        ),
    ),
    "instead": (
        ["buying", "needs", 0, "instead", 0],
        "ranges joint stops_met stops worst_stop headroom cost alone_cost retunes status",
    ),
}


def _faults(schema: dict[str, Any], plan: dict[str, Any]) -> list[jsonschema.ValidationError]:
    return list(jsonschema.Draft202012Validator(schema).iter_errors(plan))


def _inside(plan: Any, path: list[Any]) -> Any:
    for key in path:
        plan = plan[key]
    return plan


def test_the_schema_is_a_schema(schema: dict[str, Any]) -> None:
    jsonschema.Draft202012Validator.check_schema(schema)


def test_a_rich_plan_is_valid(schema: dict[str, Any], plan: dict[str, Any]) -> None:
    assert [fault.message for fault in _faults(schema, plan)] == []


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_value_is_refused_where_it_stands(damage: str, schema: dict[str, Any]) -> None:
    path, value = DAMAGES[damage]
    plan = sample_plan()
    _inside(plan, path[:-1])[path[-1]] = value
    assert {tuple(fault.absolute_path)[: len(path)] for fault in _faults(schema, plan)} == {
        tuple(path)
    }


def _with_context(faults: list[jsonschema.ValidationError]) -> list[str]:
    out = []
    for fault in faults:
        out += [fault.message, *_with_context(list(fault.context or ()))]
    return out


@pytest.mark.parametrize("place", CONTRACT)
def test_every_key_of_the_contract_must_be_there(
    place: str, schema: dict[str, Any], plan: dict[str, Any]
) -> None:
    path, names = CONTRACT[place]
    keys = set(names.split())
    record = _inside(plan, path)
    assert keys <= set(record)
    record.clear()
    messages = _with_context(_faults(schema, plan))
    missing = {key for key in keys if f"'{key}' is a required property" in messages}
    assert missing == keys


@pytest.mark.parametrize("path", [[], ["tour"], ["stops", 0], ["stops", 0, "carriers", 0]])
def test_additional_keys_are_welcome(path: list[Any], schema: dict[str, Any]) -> None:
    plan = sample_plan()
    _inside(plan, path)["from_a_later_edition"] = {"x": 1}
    assert _faults(schema, plan) == []


@pytest.mark.parametrize("key", ["combinations", "hookup", "deadlines", "ranking", "common"])
def test_what_no_stage_computes_may_be_null(key: str, schema: dict[str, Any]) -> None:
    assert _faults(schema, sample_plan() | {key: None}) == []


def test_the_later_parts_of_the_contract_are_described(schema: dict[str, Any]) -> None:
    plan = sample_plan()
    plan["combinations"] = [
        {"ranges": {"vocals": ["Alder 470.1-513.9"]}, "rank": 1, "stops_met": 2}
        | {"worst_stop": "chicago-1", "worst_headroom": {"vocals": -4}, "retunes": 3}
        | {"retunes_bound": 2, "chance_all_stops": 0.71, "why": "fewest retunes"}
    ]
    branch = {"name": "A", "stop": None, "low_mhz": 470.0, "high_mhz": 514.0}
    branch |= {"antenna_gain_dbi": 6.0, "net_gain_db": -2.1, "noise_figure_db": 4.2}
    branch |= {"input_dbm_near": -30.0, "input_dbm_far": -70.0, "margin_db": 12.0}
    plan["hookup"] = {
        "racks": [],
        "parts": [{"part": "splitter", "quantity": 2, "note": None}],
        "branches": [branch | {"steps": [{"part": "cable 10 m", "gain_db": -2.1}]}],
        "transmit": [
            {"name": "ears", "power_dbm": 17.0, "kind": "EIRP", "limit_dbm": 17.0, "within": True}
        ],
    }
    plan["deadlines"] = [
        {"stop": "omaha-1", "licence_kind": "part-74", "apply_by": "2027-02-02", "apply_to": "x"}
    ]
    assert [fault.message for fault in _faults(schema, plan)] == []
    plan["combinations"][0]["chance_all_stops"] = 71
    assert [tuple(fault.absolute_path) for fault in _faults(schema, plan)] == [
        ("combinations", 0, "chance_all_stops")
    ]
