"""demo, rank, coordinate, reach, new, version."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import pytest

from tests.cli.running import DEMO, files_under, passband

if TYPE_CHECKING:
    from pathlib import Path


def test_demo_writes_its_sheets_and_exits_0(tmp_path: Path) -> None:
    run = passband("demo", "--out", tmp_path / "demo")
    assert run.returncode == 0, run.stderr
    names = files_under(tmp_path / "demo")
    assert "plan.json" in names
    assert (
        len([name for name in names if name.startswith("sheets/") and name.endswith(".html")]) == 13
    )
    assert len([name for name in names if name.endswith(".pdf")]) == 22
    assert "Invented stations and gear" in run.stdout


def test_rank_prints_and_gives_json(tmp_path: Path) -> None:
    run = passband("rank", DEMO / "tour.toml")
    assert run.returncode == 0
    assert "Alder" in run.stdout
    assert all(len(line) <= 80 for line in run.stdout.splitlines())
    answer = json.loads(passband("rank", DEMO / "tour.toml", "--json").stdout)
    assert {row["need"] for row in answer["ranking"]} == {"vocals", "ears"}
    assert not files_under(tmp_path)


def test_coordinate_prints_every_stop(tmp_path: Path) -> None:
    del tmp_path
    run = passband("coordinate", DEMO / "tour.toml")
    assert run.returncode == 0
    assert all(len(line) <= 80 for line in run.stdout.splitlines())
    answer = json.loads(passband("coordinate", DEMO / "tour.toml", "--json").stdout)
    assert len(answer["stops"]) == 10
    assert answer["cautions"]


def test_reach_answers_the_one_city_question() -> None:
    command = [
        "reach", "Omaha, NE, US", "--stations", DEMO / "stations.csv",
        "--gear", DEMO / "gear.csv", "--setting", "indoor",
    ]  # fmt: skip
    run = passband(*command)
    assert run.returncode == 0, run.stderr
    assert "Omaha" in run.stdout
    assert all(len(line) <= 80 for line in run.stdout.splitlines())
    answer = json.loads(passband(*command, "--json").stdout)
    (stop,) = answer["stops"]
    assert stop["ranges"]["Alder 470.1-513.9"]["carriers_mhz"]
    assert any(channel["transmitters"] for channel in stop["channels"])
    assert stop["location_error_km"] in (4.0, 8.0, 15.0)


def test_reach_by_point_and_span_without_a_catalogue() -> None:
    run = passband(
        "reach", "41.2565,-95.9345", "--stations", DEMO / "stations.csv",
        "--span", "470-514", "--json",
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    (stop,) = json.loads(run.stdout)["stops"]
    assert (stop["spans"][0]["low_mhz"], stop["spans"][-1]["high_mhz"]) == (470.0, 514.0)
    assert list(stop["ranges"]) == ["plain use 470.1-513.9"]


def test_reach_takes_a_point_south_of_the_equator() -> None:
    run = passband("reach", "-14.2756,-170.7020", "--stations", DEMO / "stations.csv", "--json")
    assert run.returncode == 0, run.stderr
    answer = json.loads(run.stdout)
    assert answer["stops"][0]["country"] == "US"
    assert answer["inputs"][0]["coverage"].startswith("countries US")


def test_reach_says_when_the_country_of_a_point_is_in_doubt() -> None:
    run = passband("reach", "31.755,-106.485", "--stations", DEMO / "stations.csv", "--json")
    assert "country-doubtful" in [row["code"] for row in json.loads(run.stdout)["warnings"]]


def test_reach_takes_a_tour_too() -> None:
    run = passband("reach", DEMO / "tour.toml", "--json")
    assert run.returncode == 0, run.stderr
    assert len(json.loads(run.stdout)["stops"]) == 10


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("Nowhere-upon-Nothing", "--stations", DEMO / "stations.csv"), "Nowhere-upon-Nothing"),
        (("Omaha, NE, US",), "--stations"),
        (
            ("41.2,-95.9", "--stations", DEMO / "stations.csv", "--span", "514-470"),
            "low below high",
        ),
        (("95,10", "--stations", DEMO / "stations.csv"), "latitude -90 to 90"),
        (("19.43,-99.13", "--stations", DEMO / "stations.csv"), "country with rules"),
        (
            ("41.2,-95.9", "--stations", DEMO / "stations.csv", "--setting", "tents"),
            "indoor, outdoor",
        ),
        (("x" * 5000, "--stations", DEMO / "stations.csv"), "PLACE"),
        (("41.2,-95.9", "--stations", DEMO / "stations.csv", "--span", "470-470.1"), "0.2 MHz"),
        ((DEMO / "tour.toml", "--setting", "indoor"), "--setting"),
    ],
)
def test_reach_refuses_in_a_line(args: tuple[str | Path, ...], said: str) -> None:
    run = passband("reach", *args)
    assert run.returncode == 2
    assert said in run.stderr
    assert "Traceback" not in run.stderr


def test_new_makes_a_folder_that_checks_and_refuses_a_full_one(tmp_path: Path) -> None:
    run = passband("new", tmp_path / "mine")
    assert run.returncode == 0
    assert passband("check", tmp_path / "mine" / "tour.toml").returncode == 0
    again = passband("new", tmp_path / "mine")
    assert again.returncode == 2
    assert "a folder that is not empty" in again.stderr


def test_version_and_module() -> None:
    run = passband("--version")
    assert re.fullmatch(r"passband \d+\.\d+\.\d+\n", run.stdout)


@pytest.mark.parametrize(
    "command",
    [
        "plan",
        "check",
        "demo",
        "new",
        "reach",
        "rank",
        "coordinate",
        "compare",
        "sheets",
        "stations",
        "field",
        "pack",
    ],
)
def test_every_help_has_an_example_of_its_command(command: str) -> None:
    run = passband(command, "--help")
    assert run.returncode == 0
    assert f"passband {command}" in " ".join(run.stdout.replace("│", " ").split())
