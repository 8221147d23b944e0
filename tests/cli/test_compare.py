"""``passband compare`` on plans of the demo."""

from __future__ import annotations

import json
import shutil
from typing import TYPE_CHECKING

import pytest

from tests.cli.running import copy_of_demo, passband

if TYPE_CHECKING:
    from pathlib import Path

MEMPHIS = '[[stop]]\nplace = "Memphis, TN, US"'


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the plan of the demo in ``old`` and of a changed one in ``new``."""
    base = tmp_path_factory.mktemp("compare")
    tour = copy_of_demo(base / "tour")
    assert passband("plan", tour, "--out", base / "old", "--effort", "quick").returncode == 0
    shutil.copytree(base / "old", base / "again")
    assert passband("plan", tour, "--out", base / "again", "--effort", "quick").returncode == 0
    text = tour.read_text(encoding="utf-8")
    assert MEMPHIS in text
    text = text.replace(MEMPHIS, f'[[stop]]\nstatus = "cancelled"\n{MEMPHIS[9:]}')
    plan = json.loads((base / "old" / "plan.json").read_text(encoding="utf-8"))
    taken = plan["stops"][0]["carriers"][0]["frequency_mhz"]
    text += f"\n[[exclude]]\nlow_mhz = {taken - 0.05}\nhigh_mhz = {taken + 0.05}\nreason = 'x'\n"
    tour.write_text(text, encoding="utf-8")
    shutil.copytree(base / "old", base / "new")
    assert passband("plan", tour, "--out", base / "new", "--effort", "quick").returncode == 0
    return base


def test_a_second_run_of_the_same_tour_changed_nothing(plans: Path) -> None:
    run = passband("compare", plans / "old", plans / "again" / "plan.json")
    assert run.returncode == 0, run.stderr
    assert run.stdout.startswith("Nothing changed")


def test_what_a_dropped_stop_and_a_closed_span_changed(plans: Path) -> None:
    run = passband("compare", plans / "old", plans / "new")
    assert run.returncode == 0, run.stderr
    assert all(len(line) <= 80 for line in run.stdout.splitlines())
    assert "dropped: Memphis (memphis-1)" in run.stdout
    answer = json.loads(passband("compare", plans / "old", plans / "new", "--json").stdout)
    assert answer["schema"] == "passband-compare/1"
    assert (answer["old"]["issue"], answer["new"]["issue"]) == (1, 2)
    assert [row["id"] for row in answer["route"]["dropped"]] == ["memphis-1"]
    assert (answer["counts"]["old_stops"], answer["counts"]["new_stops"]) == (10, 9)
    shut = [row for stop in answer["verdicts"] for row in stop["spans"] if row["new_excluded"]]
    assert shut
    moved = [row for stop in answer["carriers"] for row in stop["rows"]]
    assert moved
    gone = [row for row in moved if "is no longer usable" in row["why"]]
    assert gone
    # a spare may have to give way to a line that lost its place
    others = [row for row in moved if row not in gone]
    assert all("spare" in row["name"] and "made room" in row["why"] for row in others)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("no JSON", "not JSON"),
        ('{"schema": "another/1"}', "no whole plan"),
        (None, "No such file"),
    ],
)
def test_a_foreign_file_is_one_clear_line(
    plans: Path, tmp_path: Path, text: str | None, said: str
) -> None:
    if text is not None:
        (tmp_path / "plan.json").write_text(text, encoding="utf-8")
    run = passband("compare", plans / "old", tmp_path)
    assert run.returncode == 2
    (line,) = run.stderr.strip().splitlines()
    assert said in line
    assert "name a plan.json that passband wrote, or its folder" in line


def test_a_plan_with_a_part_of_another_kind_names_the_part(plans: Path, tmp_path: Path) -> None:
    plan = json.loads((plans / "old" / "plan.json").read_text(encoding="utf-8"))
    plan["stops"][2]["spans"][4]["low_mhz"] = None
    (tmp_path / "plan.json").write_text(json.dumps(plan), encoding="utf-8")
    run = passband("compare", tmp_path, plans / "old")
    assert run.returncode == 2
    assert "stops[2].spans[4].low_mhz" in run.stderr
