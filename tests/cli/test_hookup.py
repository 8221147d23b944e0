"""``passband hookup`` with a tour and without."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.running import passband as run

ROOT = Path(__file__).resolve().parents[2]
ASK = ("hookup", "--receivers", "16", "--range", "470-534", "--cable-m", "50")


def test_without_a_tour_one_page_comes_out() -> None:
    done = run(*ASK, "--antenna", "Directional 470-700", "--mains", "US")
    assert done.returncode == 0, done.stderr
    for text in (
        "Rack 1: 16 receivers, 470-534 MHz",
        "Splitter 4x2",
        "Step by step",
        "Every limit is kept",
        "type B, 120 V",
        "The parts are invented",
        "No place is known",
        "Safety",
    ):
        assert text in " ".join(done.stdout.split()), text
    assert max(map(len, done.stdout.splitlines())) <= 80


def test_the_answer_as_json_names_what_the_contract_names() -> None:
    done = run(*ASK, "--json")
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert {"racks", "parts", "branches", "transmit", "meets", "findings"} <= set(answer)
    for branch in answer["branches"]:
        assert {
            "name", "stop", "low_mhz", "high_mhz", "antenna_gain_dbi", "net_gain_db",
            "noise_figure_db", "input_dbm_near", "input_dbm_far", "margin_db", "steps",
        } <= set(branch)  # fmt: skip
        total = sum(step["gain_db"] for step in branch["steps"])
        assert abs(branch["net_gain_db"] - total) <= 1e-9
    assert {row["frequency_mhz"] for row in answer["branches"]} == {470.0, 534.0}


def test_a_general_cable_type_and_two_ranges() -> None:
    done = run(
        "hookup", "--receivers", "8", "--range", "470-516", "--receivers", "4", "--range",
        "556-608", "--cable", "RG-214/U", "--cable-m", "40", "--json",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    (rack,) = json.loads(done.stdout)["racks"]
    (group,) = rack["groups"]
    assert len(group["receivers"]) == 12
    assert (group["low_mhz"], group["high_mhz"]) == (470.0, 608.0)
    assert "RG-214/U" in group["arrangement"]["text"]


def test_what_cannot_be_met_is_told_with_exit_3() -> None:
    done = run(
        "hookup", "--receivers", "40", "--range", "470-534", "--cable", "RG-58C/U", "--cable-m",
        "120", "--distribution", "passive",
    )  # fmt: skip
    assert done.returncode == 3
    said = " ".join(done.stdout.split())
    assert "this is the least bad one" in said
    assert "dB of sensitivity, more than 6 dB" in said
    assert "Advice:" in said


@pytest.mark.parametrize(
    ("args", "expected"),
    [
        (("hookup",), "one --receivers for each --range, at least one"),
        (("hookup", "--receivers", "8", "--range", "534-470"), "low below high"),
        ((*ASK, "--cable", "RG-8Y"), 'did you mean "RG-8X"?'),
        ((*ASK, "--antenna", "Helix 470-70"), 'did you mean "Helix 470-700"?'),
        ((*ASK, "--distribution", "active"), "allowed: any, powered, passive"),
        ((*ASK, "--near-m", "90"), "near not beyond far"),
        ((*ASK, "--racks", "0"), "--racks; got 0"),
        (("hookup", "--receivers", "8", "--range", "900-950"), "none that covers 900-950 MHz"),
        ((*ASK, "--parts", "no-such.csv"), "no-such.csv"),
    ],
)
def test_faults_are_a_line_each_and_exit_2(args: tuple[str, ...], expected: str) -> None:
    done = run(*args)
    assert done.returncode == 2, done.stdout
    assert expected in done.stderr
    assert "Traceback" not in done.stderr


def test_files_go_into_a_new_folder_only(tmp_path: Path) -> None:
    out = tmp_path / "rig"
    done = run(*ASK, "--in-ears", "4", "--in-ear-range", "556-608", "--out", str(out))
    assert done.returncode == 0, done.stderr
    found = {path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file()}
    assert found == {
        "sheets/hookup.html",
        "sheets/hookup-rack-1.svg",
        "sheets/hookup-transmit.svg",
        "tables/hookup-parts.csv",
        "tables/hookup-parts.xlsx",
        "tables/hookup-levels.csv",
        "sheets/hookup.pdf",
    }
    again = run(*ASK, "--out", str(out))
    assert again.returncode == 2
    assert "a folder that is not empty" in again.stderr


def test_a_tour_without_the_table_is_told(tmp_path: Path) -> None:
    text = (ROOT / "data" / "tour.toml").read_text(encoding="utf-8").split("\n[hookup]")[0]
    first = text.split("[[stop]]")
    short = "[[stop]]".join([first[0], first[1]]) + "\n[[need]]" + text.split("[[need]]", 1)[1]
    short = short.split("[[fixed]]", maxsplit=1)[0]
    (tmp_path / "tour.toml").write_text(short, encoding="utf-8")
    for name in ("stations.csv", "stations.csv.coverage.toml", "gear.csv", "parts.csv"):
        (tmp_path / name).write_bytes((ROOT / "data" / name).read_bytes())
    done = run("hookup", str(tmp_path / "tour.toml"))
    assert done.returncode == 2
    assert "[hookup]; got no such table" in done.stderr
    table = '\n[hookup]\nparts = "parts.csv"\ncable = "RG-8X"\n'
    (tmp_path / "tour.toml").write_text(short + table, encoding="utf-8")
    done = run("hookup", str(tmp_path / "tour.toml"), "--json")
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    (rack,) = answer["racks"]
    names = [row["name"] for group in rack["groups"] for row in group["receivers"]]
    assert len(names) == 10
    assert "Lead (vocals)" in names
    assert all(branch["stop"] == "nashville-1" for branch in answer["branches"])
    assert len(answer["transmit"]) == 6
    assert all(row["within"] for row in answer["transmit"])
