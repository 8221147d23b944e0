"""CSV: units in headers, numbers that stay numbers, no cell that runs."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.report.reach_table import REACH_COLUMNS, reach_table
from planner.report.tables import (
    CARRIER_COLUMNS,
    carriers_csv,
    cell,
    plain_list,
    table_csv,
)

Plan = dict[str, Any]


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_one_row_a_carrier_in_the_plans_order(plan: Plan) -> None:
    stop = plan["stops"][0]
    lines = _rows(carriers_csv(stop))
    assert [float(row["frequency_mhz"]) for row in lines] == [
        carrier["frequency_mhz"] for carrier in stop["carriers"]
    ]
    assert lines[0] == dict.fromkeys(CARRIER_COLUMNS, "") | {
        "first_date": "2027-03-04",
        "last_date": "2027-03-04",
        "stop": "omaha-1",
        "place": "Omaha, NE, US",
        "name": "Lead",
        "need": "vocals",
        "role": "mic",
        "form": "hand-held",
        "zone": "stage",
        "range": "Alder 470.1-513.9",
        "frequency_mhz": "482.125",
        "bandwidth_khz": "200.0",
        "power_mw": "30",
        "power_kind": "EIRP",
        "tv_channel": "16",
        "air": "quiet",
        "law": "lawful",
        "rule": "47 CFR 15.236(c)(1),(d)(1),(e)(1)",
        "spare": "no",
        "fixed": "no",
        "other": "no",
        "retuned": "no",
        "forced": "no",
        "nearest_product": "2A-B",
        "nearest_product_formula": "2 x 470.350 - 471.000",
        "nearest_product_offset_khz": "125.0",
        "noise_rise_db": "0.4",
        "assigned": "yes",
        "licence": "part-74",
        "holder": "Rig Hire <Ltd> & Söhne",
        "pair_with": "ears Lead",
        "pair_separation_mhz": "66.206",
        "pair_kept": "yes",
    }


def test_marks_travel_with_the_table(plan: Plan) -> None:
    remarks = {row["name"]: row["remark"] for row in _rows(carriers_csv(plan["stops"][0]))}
    assert remarks["gap mic"] == "not checked"
    assert remarks["look-first spare"] == "look first"
    assert remarks["Lead"] == ""


def test_names_that_would_run_are_neutralised(plan: Plan) -> None:
    names = [row["name"] for row in _rows(carriers_csv(plan["stops"][0]))]
    assert '\'=HYPERLINK("http://example.invalid","click")' in names
    assert "'-5 dB mix" in names
    assert "'@drums" in names
    assert "Lead" in names


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff20"])
def test_every_start_of_a_formula_is_stopped(start: str) -> None:
    assert cell(f"{start}1+1").startswith("'")


@pytest.mark.parametrize(
    ("value", "expected"),
    [(-3.5, "-3.5"), (0, "0"), (512, "512"), (True, "yes"), (False, "no"), (None, ""), ("a", "a")],
)
def test_numbers_stay_numbers(value: object, expected: str) -> None:
    assert cell(value) == expected


@given(st.text())
def test_no_text_cell_starts_a_formula(text: str) -> None:
    assert cell(text)[:1] not in {"=", "+", "-", "@", "\t", "\r", "\n"}


def test_a_stop_without_carriers_is_a_header(plan: Plan) -> None:
    assert carriers_csv(plan["stops"][2]) == ",".join(CARRIER_COLUMNS) + "\n"


def test_columns_of_quantities_carry_their_unit() -> None:
    for column in CARRIER_COLUMNS:
        for quantity in (
            "frequency",
            "bandwidth",
            "power",
            "offset",
            "noise_rise",
            "working_range",
        ):
            if quantity in column and column != "power_kind":
                assert column.rsplit("_", 1)[1] in {"mhz", "khz", "mw", "db", "m"}


def test_the_plain_list_holds_our_carriers_once_and_ascending(plan: Plan) -> None:
    stop = plan["stops"][0]
    stop["carriers"][0]["other"] = True
    stop["carriers"].append(dict(stop["carriers"][1]))
    others = [row["frequency_mhz"] for row in stop["carriers"] if row["other"]]
    assert len(others) > 1
    figures = [float(line) for line in plain_list(stop).splitlines()]
    assert figures == sorted({row["frequency_mhz"] for row in stop["carriers"]} - {*others})
    assert plain_list({"carriers": []}) == ""


def test_reach_has_a_row_for_every_station_listed_and_one_for_an_empty_channel(plan: Plan) -> None:
    lines = _rows(table_csv(reach_table(plan, plan["stops"])))
    expected = [
        (stop["id"], str(channel["channel"]), row.get("station_id", ""))
        for stop in plan["stops"]
        for channel in stop["channels"]
        for row in channel["transmitters"] or [{}]
    ]
    read = [(row["stop"].lstrip("'"), row["tv_channel"], row["station_id"]) for row in lines]
    assert read == expected
    assert {station for _, _, station in expected} > {""}
    by_name = next(row for row in lines if row["station_id"] == "demo-020")
    assert float(by_name["distance_km"]) == 12.34
    assert set(by_name) == set(REACH_COLUMNS)


def test_a_station_named_like_a_formula_does_not_run(plan: Plan) -> None:
    plan["transmitters"]["demo-020"]["name"] = "=1+1"
    lines = _rows(table_csv(reach_table(plan, plan["stops"])))
    assert {row["station"] for row in lines if row["station_id"] == "demo-020"} == {"'=1+1"}
