"""``passband check``: what was understood, or every fault; never a file changed."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING

from planner.cli import main
from tests.unit.tour_files import DENVER, NEED, OMAHA, TOUR_HEAD, write_tour

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

GOOD = TOUR_HEAD + OMAHA + DENVER + NEED
BAD = GOOD.replace("count = 3", "count = 0").replace("lat = 41.2565", "lat = 95")


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    """Run the command line in this process and return its exit code."""
    monkeypatch.setattr(sys, "argv", ["passband", "check", *arguments])
    try:
        main()
    except SystemExit as stop:
        return int(stop.code or 0)
    return 0


def test_a_good_tour(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_tour(tmp_path, GOOD)
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
    assert run(monkeypatch, str(path)) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert all(len(line) <= 80 for line in out.splitlines())
    for text in (
        "omaha-1",
        "denver-1",
        "lat and lon given",
        "gazetteer: Denver",
        "vocals",
        "us.csv",
    ):
        assert text in out
    assert out.endswith("No faults, 0 warnings.\n")
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_a_good_tour_as_json(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, str(write_tour(tmp_path, GOOD)), "--json") == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["ok"] is True
    assert [stop["id"] for stop in answer["stops"]] == ["omaha-1", "denver-1"]
    assert answer["stops"][0]["found"] == "lat and lon given"
    assert answer["stops"][1]["location_error_km"] == 15.0
    assert answer["needs"][0]["lines"] == ["Lead", "Guitar", "vocals 3"]
    assert [row["file"] for row in answer["inputs"]] == [
        "tour.toml",
        "us.csv",
        "us.coverage.toml",
        "gear.csv",
    ]
    assert answer["warnings"] == []
    assert answer["faults"] == []
    assert str(tmp_path) not in json.dumps(answer)


def test_faults_are_one_line_each(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_tour(tmp_path, BAD)
    assert run(monkeypatch, str(path)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    lat, count = err.splitlines()
    assert lat.startswith(f"{path}: [[stop]] 1, lat; got 95; allowed: a number from -90 to 90 deg")
    assert count.startswith(f"{path}: [[need]] 1, count; got 0; allowed: a whole number from 1")


def test_faults_as_json(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, str(write_tour(tmp_path, BAD)), "--json") == 2
    out, err = capsys.readouterr()
    answer = json.loads(out)
    assert answer["ok"] is False
    assert [fault["where"] for fault in answer["faults"]] == [
        "[[stop]] 1, lat",
        "[[need]] 1, count",
    ]
    assert [fault["line"] for fault in answer["faults"]] == err.splitlines()


def test_warnings_are_told_and_count_only_when_strict(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(write_tour(tmp_path, GOOD.replace('setting = "outdoor"', "")))
    assert run(monkeypatch, path) == 0
    out = capsys.readouterr().out
    assert "warning setting-unknown: denver-1: setting unknown: computed as outdoor" in " ".join(
        out.split()
    )
    assert out.endswith("No faults, 1 warning.\n")
    assert run(monkeypatch, path, "--strict") == 2
    assert "1 warning and --strict" in capsys.readouterr().err
    assert run(monkeypatch, path, "--strict", "--json") == 2
    answer = json.loads(capsys.readouterr().out)
    assert answer["ok"] is False
    assert answer["warnings"][0]["code"] == "setting-unknown"


def test_one_of_a_thing_is_not_told_in_the_plural(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, str(write_tour(tmp_path, GOOD))) == 0
    assert capsys.readouterr().out.startswith("Test Round: 2 stops, 1 need\n")
    two = TOUR_HEAD + OMAHA + NEED + NEED.replace("vocals", "choir")
    assert run(monkeypatch, str(write_tour(tmp_path, two))) == 0
    assert capsys.readouterr().out.startswith("Test Round: 1 stop, 2 needs\n")


def test_names_from_the_file_are_not_taken_for_markup(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = GOOD.replace('name = "Test Round"', 'name = "[bold]Test[/bold] [red]"')
    assert run(monkeypatch, str(write_tour(tmp_path, text))) == 0
    assert "[bold]Test[/bold] [red]: 2 stops" in capsys.readouterr().out


def test_everything_that_a_tour_holds_is_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = f"""{GOOD}
[[licence]]
country = "US"
kind = "part-74"
holder = "Rig Hire"
[[exclude]]
low_mhz = 600.0
high_mhz = 601.0
reason = "house intercom"
[[fixed]]
name = "house mic"
frequency_mhz = 512.350
gear = "Old Oak 500-530"
stops = ["omaha-1"]
"""
    path = str(write_tour(tmp_path, text))
    assert run(monkeypatch, path) == 0
    out = capsys.readouterr().out
    assert "Licence: part-74, Rig Hire; all stops in US" in out
    assert "Excluded: 600-601 MHz; all stops; house intercom" in out
    assert "Fixed: house mic, 512.350 MHz, Old Oak 500-530; omaha-1" in out
    assert run(monkeypatch, path, "--json") == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["fixed"][0]["frequency_mhz"] == 512.35
    assert answer["excludes"][0]["low_mhz"] == 600.0
    assert answer["licences"][0]["valid_from"] is None


MILWAUKEE = """
[[stop]]
place = "Milwaukee, WI, US"
date = 2027-03-09
"""


def test_stops_whose_verdicts_hang_on_coordinates_are_listed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # by its name Milwaukee is known to 15 km, and lies 131 km from Chicago's land mobile centre
    path = str(write_tour(tmp_path, GOOD + MILWAUKEE))
    assert run(monkeypatch, path) == 0
    out = capsys.readouterr().out
    assert all(len(line) <= 80 for line in out.splitlines())
    told = out[out.index("hang on the venue's coordinates") :].splitlines()
    (line,) = [row for row in told if row.startswith("milwaukee-1")]
    assert line.split()[1:4] == ["15", "2", "channels"]
    assert "barred to lawful: 14, 15" in line
    assert not any(row.startswith("omaha-1") for row in told)
    assert run(monkeypatch, path, "--json") == 0
    stops = {row["id"]: row for row in json.loads(capsys.readouterr().out)["stops"]}
    rows = stops["milwaukee-1"]["verdicts_at_risk"]
    assert [(row["channel"], row["law"], row["law_at_point"]) for row in rows] == [
        (14, "barred", "lawful"),
        (15, "barred", "lawful"),
    ]
    assert rows[0]["low_mhz"] == 470.0
    assert stops["omaha-1"]["verdicts_at_risk"] == []
