"""VHF against UHF: external noise decides between ranges that serve the same stops."""

from __future__ import annotations

from typing import Any

from planner.records import Settings
from tests.unit.builders import gear, need, station, stop
from tests.unit.planning import FAR, document, moved, planned

VHF = gear(
    family="Low",
    low_hz=174_100_000,
    high_hz=215_900_000,
    tuning_origin_hz=174_100_000,
    noise_figure_db=5.0,
    required_snr_db=20.0,
)
UHF = gear(
    family="High",
    low_hz=590_100_000,
    high_hz=607_900_000,
    tuning_origin_hz=590_100_000,
    noise_figure_db=5.0,
    required_snr_db=20.0,
)
VHF_FAR = {
    **station(14, station_id="far-vhf", erp_kw=0.1, haat_m=30.0, **moved(400)),
    "channel": "7",
    "low_hz": 174_000_000,
    "high_hz": 180_000_000,
}


def ranked(people: int, **more: Any) -> dict[str, Any]:
    return document(
        planned(
            stops=[stop(people_near=people)],
            needs=[need(**more)],
            rows=[FAR, VHF_FAR],
            ranges=[VHF, UHF],
            settings=Settings(),
        )
    )


def families(plan: dict[str, Any]) -> list[str]:
    rows = sorted(plan["ranking"], key=lambda row: row["rank"])
    return [row["range"].split()[0] for row in rows]


def test_a_city_s_noise_puts_uhf_first_though_vhf_holds_more() -> None:
    plan = ranked(1_000_000)
    by_family = {row["range"].split()[0]: row for row in plan["ranking"]}
    assert by_family["Low"]["worst_headroom"] > by_family["High"]["worst_headroom"] >= 0
    assert families(plan) == ["High", "Low"]
    assert "external noise lifts the floor here by up to 8 dB" in by_family["Low"]["why"]
    assert plan["choice"]["vocals"][0].startswith("High")
    assert "external noise" in plan["combinations"][1]["why"]


def test_in_the_country_the_noise_is_low_and_headroom_decides() -> None:
    plan = ranked(0)
    assert families(plan) == ["Low", "High"]
    assert plan["choice"]["vocals"][0].startswith("Low")
    assert plan["stops"][0]["noise_environment"] == "rural"


def test_what_is_missing_counts_before_noise() -> None:
    plan = ranked(1_000_000, count=60, lines=tuple(f"line {n}" for n in range(60)))
    low, high = (
        next(row["worst_headroom"] for row in plan["ranking"] if row["range"].startswith(name))
        for name in ("Low", "High")
    )
    assert high < low < 0
    assert families(plan) == ["Low", "High"]


def test_carriers_tell_how_far_they_work() -> None:
    plan = ranked(1_000_000)
    for row in plan["stops"][0]["carriers"]:
        assert row["working_range_m"] > 0
        assert row["working_range_why"] is None
    bare = document(planned())
    for row in bare["stops"][0]["carriers"]:
        assert row["working_range_m"] is None
        assert "required_snr_db" in row["working_range_why"]
    assert {row["chance_clear"] for row in bare["stops"][0]["channels"]} <= {0.0, 1.0, None}
    assert bare["combinations"][0]["chance_all_stops"] == 1.0
