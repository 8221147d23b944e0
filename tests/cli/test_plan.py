"""The main job from the command line, on the demo's invented tour."""

from __future__ import annotations

import contextlib
import html
import itertools
import json
import subprocess
import sys
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest

from planner.cli.bundle import plan_digest, write_bundle
from planner.cli.earlier import is_plan
from planner.coordination import GuardSet, PlacedCarrier
from planner.coordination.verify import violations
from planner.errors import InputFaults
from planner.intake.gear import load_gear
from planner.plan import plan_text
from tests.cli.running import DEMO, ROOT, copy_of_demo, files_under, passband

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, dict[str, Any]]:
    """Return tour file, folder and document of a plan of the demo."""
    base = tmp_path_factory.mktemp("demo")
    tour = copy_of_demo(base / "tour")
    run = passband("plan", tour, "--out", base / "out")
    assert run.returncode == 0, run.stderr
    assert all(len(line) <= 80 for line in run.stdout.splitlines() if "Written" not in line)
    return tour, base / "out", json.loads((base / "out" / "plan.json").read_text(encoding="utf-8"))


Planned = tuple[Path, Path, dict[str, Any]]


def test_the_plan_fulfils_its_schema_in_the_contracts_order(planned: Planned) -> None:
    schema = json.loads(
        (resources.files("planner.plan") / "passband-plan-1.schema.json").read_text("utf-8")
    )
    jsonschema.Draft202012Validator(schema).validate(planned[2])
    assert list(planned[2])[:13] == [
        "schema", "tour", "made", "inputs", "transmitters", "stops", "common", "ranking",
        "combinations", "hookup", "deadlines", "warnings", "cautions",
    ]  # fmt: skip


def test_every_stop_passes_the_verifier_and_stands_in_its_windows(planned: Planned) -> None:
    gear = {row.key: row for row in load_gear(DEMO / "gear.csv")}
    document = planned[2]
    for stop in document["stops"]:
        placed = []
        for carrier in stop["carriers"]:
            hertz = round(carrier["frequency_mhz"] * 1e6)
            if carrier["other"]:
                # the demo protects the support act: 100 kHz, as far as its half bandwidth
                theirs = GuardSet(spacing_hz=0, guard_2a_b_hz=100_000, guard_a_b_c_hz=100_000)
                placed.append(PlacedCarrier(frequency_hz=hertz, guards=theirs))
                continue
            row = gear[carrier["range"]]
            guards = GuardSet(
                spacing_hz=row.spacing_hz,
                guard_2a_b_hz=row.guard_2a_b_hz,
                guard_a_b_c_hz=row.guard_a_b_c_hz,
                guard_3a_2b_hz=row.guard_3a_2b_hz,
            )
            placed.append(PlacedCarrier(frequency_hz=hertz, guards=guards))
            if carrier["fixed"]:
                continue
            half = row.bandwidth_hz // 2
            spans = stop["ranges"][carrier["range"]]
            windows = [*spans["windows_mhz"]]
            if carrier["spare"]:
                windows += spans["faint_windows_mhz"]
            assert any(
                round(low * 1e6) <= hertz - half and hertz + half <= round(high * 1e6)
                for low, high in windows
            )
            assert hertz % 25_000 == 0
            assert carrier["law"] == "lawful"
            assert carrier["power_mw"] in row.powers_mw
        assert violations(placed) == ()


def test_needs_are_met_with_names_and_spares_at_every_stop(planned: Planned) -> None:
    for stop in planned[2]["stops"]:
        assert stop["short"] == []
        ours = [c for c in stop["carriers"] if not c["fixed"]]
        assert [c["name"] for c in ours if c["need"] == "vocals"] == [
            "Lead", "Guitar", "Keys", "Bass", "Drums",
            *(f"vocals {n}" for n in range(6, 11)), "vocals spare 1", "vocals spare 2",
        ]  # fmt: skip
        assert sum(c["need"] == "ears" for c in ours) == 7


def test_one_range_survives_the_route_and_one_fails_at_a_city(planned: Planned) -> None:
    rows = [row for row in planned[2]["ranking"] if row["need"] == "vocals"]
    assert rows[0]["stops_met"] == rows[0]["stops"] == 10
    assert any(0 < row["stops_met"] < row["stops"] for row in rows)


def test_spans_cover_the_search_without_gaps_and_retunes_are_honest(planned: Planned) -> None:
    last: dict[tuple[str, str], float] = {}
    for stop in planned[2]["stops"]:
        spans = stop["spans"]
        for left, right in itertools.pairwise(spans):
            assert left["high_mhz"] <= right["low_mhz"]
        for carrier in stop["carriers"]:
            if carrier["fixed"] or carrier["other"]:
                continue
            key = (carrier["need"], carrier["name"])
            assert carrier["previous_frequency_mhz"] == last.get(key)
            moved = key in last and last[key] != carrier["frequency_mhz"]
            assert carrier["retuned"] or not moved
            last[key] = carrier["frequency_mhz"]


def test_a_sheet_a_city_a_table_a_city_and_one_buying_page(planned: Planned) -> None:
    _, out, document = planned
    names = set(files_under(out))
    for stop in document["stops"]:
        assert f"sheets/{stop['first_date']}_{stop['id']}.html" in names
        assert f"tables/{stop['first_date']}_{stop['id']}_carriers.csv" in names
    assert "sheets/buying.html" in names
    sheet = (out / "sheets" / "2027-03-12_omaha-1.html").read_text(encoding="utf-8")
    for caution in document["cautions"]:
        assert caution.split(".")[0] in html.unescape(sheet)
    assert "http://" not in sheet.replace("http://www.w3.org/", "")
    assert "https://" not in sheet


def test_nothing_absolute_and_no_time_of_day_is_written(planned: Planned) -> None:
    tour, out, _ = planned
    text = (out / "plan.json").read_text(encoding="utf-8")
    assert str(tour.parent) not in text
    assert str(out) not in text


def test_the_same_bytes_come_again(planned: Planned, tmp_path: Path) -> None:
    tour, out, _ = planned
    assert passband("plan", tour, "--out", tmp_path / "again").returncode == 0
    assert files_under(tmp_path / "again") == files_under(out)


def test_a_second_run_keeps_the_stops_and_says_so(planned: Planned, tmp_path: Path) -> None:
    tour, _, document = planned
    out = tmp_path / "out"
    for _ in range(2):
        assert passband("plan", tour, "--out", out).returncode == 0
    again = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert again["stops"] == document["stops"]
    assert again["made"]["issue"] == 1
    assert "plan.json" in [row["file"] for row in again["inputs"]]


def test_a_second_run_keeps_a_short_stop_as_it_was(tmp_path: Path) -> None:
    tour = copy_of_demo(tmp_path / "tour")
    text = tour.read_text(encoding="utf-8").replace("count = 10", "count = 30")
    tour.write_text(text, encoding="utf-8")
    runs = []
    for _ in range(2):
        assert passband("plan", tour, "--out", tmp_path / "out").returncode == 3
        runs.append(json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8")))
    assert runs[0]["stops"] == runs[1]["stops"]
    assert any(stop["short"] for stop in runs[0]["stops"])


def test_a_changed_tour_is_a_new_issue_and_moves_no_name_without_need(
    planned: Planned, tmp_path: Path
) -> None:
    _, _, document = planned
    tour = copy_of_demo(tmp_path / "tour")
    out = tmp_path / "out"
    passband("plan", tour, "--out", out)
    text = tour.read_text(encoding="utf-8")
    taken = document["stops"][0]["carriers"][0]["frequency_mhz"]
    closed = f"\n[[exclude]]\nlow_mhz = {taken - 0.05}\nhigh_mhz = {taken + 0.05}\nreason = 'x'\n"
    tour.write_text(text + closed, encoding="utf-8")
    assert passband("plan", tour, "--out", out).returncode == 0
    after = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert (after["made"]["issue"], after["made"]["replaces"]) == (2, 1)
    for before, now in zip(document["stops"], after["stops"], strict=True):
        old = {(c["need"], c["name"]): c["frequency_mhz"] for c in before["carriers"]}
        new = {(c["need"], c["name"]): c["frequency_mhz"] for c in now["carriers"]}
        moved = {key for key in old if old[key] != new[key]}
        hit = {key for key, mhz in old.items() if abs(mhz - taken) < 0.15}
        assert moved <= hit


def test_user_files_are_untouched_and_foreign_files_stay(tmp_path: Path) -> None:
    tour = copy_of_demo(tmp_path / "tour")
    before = files_under(tmp_path / "tour")
    out = tmp_path / "out"
    (out / "sheets").mkdir(parents=True)
    (out / "sheets" / "mine.html").write_text("mine", encoding="utf-8")
    assert passband("plan", tour, "--out", out).returncode == 0
    text = tour.read_text(encoding="utf-8").replace("2027-03-04", "2027-03-03")
    tour.write_text(text, encoding="utf-8")
    assert passband("plan", tour, "--out", out).returncode == 0
    names = set(files_under(out))
    assert "sheets/mine.html" in names
    assert "sheets/2027-03-03_nashville-1.html" in names
    assert "sheets/2027-03-04_nashville-1.html" not in names
    tour.write_bytes(before["tour.toml"])
    assert files_under(tmp_path / "tour") == before


def test_a_second_writer_is_refused(tmp_path: Path) -> None:
    tour = copy_of_demo(tmp_path / "tour")
    out = tmp_path / "out"
    out.mkdir()
    (out / ".passband.lock").write_text("1", encoding="utf-8")
    run = passband("plan", tour, "--out", out)
    assert run.returncode == 2
    assert "another run is writing this folder" in run.stderr
    assert set(files_under(out)) == {".passband.lock"}


def test_what_a_killed_run_left_behind_is_cleared(tmp_path: Path) -> None:
    out = tmp_path / "out"
    (out / ".passband-writing-x" / "sheets").mkdir(parents=True)
    code = (
        "import os, sys, pathlib\n"
        "from planner.cli.folder_lock import locked\n"
        "with locked(pathlib.Path(sys.argv[1])): os._exit(9)"
    )
    killed = subprocess.run([sys.executable, "-c", code, str(out)], check=False, cwd=ROOT)
    assert killed.returncode == 9
    assert (out / ".passband.lock").exists()
    assert passband("plan", DEMO / "tour.toml", "--out", out).returncode == 0
    assert not list(out.glob(".passband-writing-*"))
    assert not (out / ".passband.lock").exists()


def test_a_need_above_what_any_range_holds_is_an_answer(tmp_path: Path) -> None:
    tour = copy_of_demo(tmp_path / "tour")
    text = tour.read_text(encoding="utf-8").replace("count = 10", "count = 400")
    tour.write_text(text, encoding="utf-8")
    run = passband("plan", tour, "--out", tmp_path / "out", "--effort", "quick")
    assert run.returncode == 3
    document = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    for stop in document["stops"]:
        (short,) = (row for row in stop["short"] if row["need"] == "vocals")
        placed = sum(c["need"] == "vocals" for c in stop["carriers"])
        assert short["missing"] == 402 - placed
        assert short["binding"].startswith("proven: at most ")
    assert all(row["worst_headroom_limit"] < 0 for row in document["ranking"][:1])


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("count = 10", "count = 0", "count"),
        ("lat = 36.1627", "lat = 95.0", "lat"),
        ('gear = "gear.csv"', 'gear = "missing.csv"', "missing.csv"),
        ("[[exclude]]", "[[exlude]]", "exclude"),
        ("lon = -115.1391", "lon = 2.3522", "[[stop]] 9, lat"),
    ],
)
def test_bad_input_is_told_in_one_line_and_nothing_is_written(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    tour = copy_of_demo(tmp_path / "tour")
    text = tour.read_text(encoding="utf-8")
    assert old in text
    tour.write_text(text.replace(old, new), encoding="utf-8")
    run = passband("plan", tour, "--out", tmp_path / "out")
    assert run.returncode == 2, run.stdout
    assert said in run.stderr
    assert "Traceback" not in run.stderr
    assert not (tmp_path / "out").exists()


def test_strict_stops_on_warnings_and_writes_nothing(tmp_path: Path) -> None:
    run = passband("plan", DEMO / "tour.toml", "--out", tmp_path / "out", "--strict")
    assert run.returncode == 2
    assert "and --strict" in run.stderr
    assert not (tmp_path / "out").exists()


def test_a_damaged_plan_in_the_folder_is_moved_aside_but_a_named_one_is_a_fault(
    tmp_path: Path,
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "plan.json").write_text('{"schema": "passband-plan/1"}', encoding="utf-8")
    run = passband("plan", DEMO / "tour.toml", "--out", out)
    assert run.returncode == 0
    assert "is no whole plan" in run.stderr
    assert (out / "plan.json.not-read").read_text("utf-8") == '{"schema": "passband-plan/1"}'
    named = out / "plan.json.not-read"
    refused = passband("plan", DEMO / "tour.toml", "--out", tmp_path / "b", "--previous", named)
    assert refused.returncode == 2
    assert "no whole plan" in refused.stderr
    assert not (tmp_path / "b").exists()


@pytest.mark.parametrize("changed", [False, True])
def test_a_file_that_is_not_ours_is_never_written_over(tmp_path: Path, *, changed: bool) -> None:
    out = tmp_path / "out"
    if changed:
        assert passband("plan", DEMO / "tour.toml", "--out", out).returncode == 0
    (out / "sheets").mkdir(parents=True, exist_ok=True)
    (out / "sheets" / "buying.html").write_text("mine", encoding="utf-8")
    before = files_under(out)
    run = passband("plan", DEMO / "tour.toml", "--out", out)
    assert run.returncode == 2
    assert "buying.html" in run.stderr
    assert "move it away" in run.stderr
    assert files_under(out) == before


@pytest.mark.parametrize("moves", [0, 1, 2, 8, 9, 30])
def test_a_run_stopped_while_moving_files_does_not_block_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, planned: Planned, moves: int
) -> None:
    """After a stop at any move the next run writes, and plan.json is never a broken one."""
    _, _, document = planned
    out = tmp_path / "out"
    texts = {f"sheets/{n}.html": f"sheet {n}" for n in range(4)}
    write_bundle(out, document, texts)
    before = (out / "plan.json").read_bytes()
    replace, left = Path.replace, [moves]

    def dying(self: Path, target: Path) -> Path:
        if left[0] == 0:
            raise KeyboardInterrupt
        left[0] -= 1
        return replace(self, target)

    changed = {**document, "warnings": []}
    newer = {f"sheets/{n}.html": f"newer sheet {n}" for n in range(1, 5)}
    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", dying)
        with contextlib.suppress(KeyboardInterrupt):
            write_bundle(out, changed, newer)
    assert (out / "plan.json").read_bytes() in (before, plan_text(changed).encode())
    write_bundle(out, changed, newer)
    assert (out / "plan.json").read_text(encoding="utf-8") == plan_text(changed)
    assert {path.name for path in (out / "sheets").iterdir()} == {f"{n}.html" for n in range(1, 5)}


def test_what_stands_in_the_way_is_named_and_nothing_is_written(
    tmp_path: Path, planned: Planned
) -> None:
    _, _, document = planned
    for name, folder in (("tables", False), ("plan.json", True)):
        out = tmp_path / name
        out.mkdir()
        if folder:
            (out / name).mkdir()
        else:
            (out / name).write_text("mine", encoding="utf-8")
        with pytest.raises(InputFaults, match=f"{name}; got"):
            write_bundle(out, document, {"sheets/a.html": "a", "tables/a.csv": "b"})
        assert [path.name for path in out.iterdir()] == [name]


def test_a_plan_that_another_run_wrote_meanwhile_is_not_written_over(
    tmp_path: Path, planned: Planned
) -> None:
    _, _, document = planned
    seen = plan_digest(tmp_path)
    write_bundle(tmp_path, document, {})
    with pytest.raises(InputFaults, match="another run wrote meanwhile"):
        write_bundle(tmp_path, document, {}, seen=seen)
    write_bundle(tmp_path, document, {}, seen=plan_digest(tmp_path))


def _without_a_stop(plan: dict[str, Any]) -> None:
    del plan["stops"][1]


def _without_a_carrier(plan: dict[str, Any]) -> None:
    del plan["stops"][0]["carriers"][0]


@pytest.mark.parametrize("damage", [_without_a_stop, _without_a_carrier])
def test_a_plan_with_a_piece_missing_is_filled_up_again(
    tmp_path: Path, damage: Callable[[dict[str, Any]], None]
) -> None:
    out = tmp_path / "out"
    assert passband("plan", DEMO / "tour.toml", "--out", out).returncode == 0
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    damage(plan)
    (out / "plan.json").write_text(json.dumps(plan), encoding="utf-8")
    assert passband("plan", DEMO / "tour.toml", "--out", out).returncode == 0


def _made(**more: object) -> dict[str, Any]:
    made = {"issue": 1, "replaces": None, "version": "1", "effort": "normal", **more}
    return {"schema": "passband-plan/1", "made": made, "inputs": [], "stops": []}


NOWHERE = {"country": "US", "lat_deg": float("nan"), "lon_deg": 1.0, "carriers": [], "short": []}


@pytest.mark.parametrize(
    "text",
    [
        '{"schema": "passband-plan/1"}',
        "[" * 200_000,
        json.dumps(_made(issue=True)),
        json.dumps(_made(issue=10**400)),
        json.dumps({**_made(), "inputs": [["file", "sha256"]]}),
        json.dumps({**_made(), "stops": [NOWHERE]}),
    ],
)
def test_what_is_no_whole_plan_is_recognised(tmp_path: Path, text: str) -> None:
    (tmp_path / "plan.json").write_text(text, encoding="utf-8")
    assert not is_plan(tmp_path / "plan.json")


def test_a_plan_without_stops_is_still_whole(tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text(json.dumps(_made()), encoding="utf-8")
    assert is_plan(tmp_path / "plan.json")


def test_every_whole_plan_is_recognised_and_a_broken_one_never_lost(
    tmp_path: Path, planned: Planned
) -> None:
    _, out, document = planned
    assert is_plan(out / "plan.json")
    for text in ("broken 1", "broken 2"):
        write_bundle(tmp_path, document, {})
        (tmp_path / "plan.json").write_text(text, encoding="utf-8")
    write_bundle(tmp_path, document, {})
    kept = {path.read_text(encoding="utf-8") for path in tmp_path.glob("plan.json.not-read*")}
    assert kept == {"broken 1", "broken 2"}


def test_a_tour_of_cancelled_stops_is_a_fault(tmp_path: Path) -> None:
    tour = copy_of_demo(tmp_path / "tour")
    text = tour.read_text(encoding="utf-8").replace("[[stop]]", '[[stop]]\nstatus = "cancelled"')
    tour.write_text(text, encoding="utf-8")
    run = passband("plan", tour, "--out", tmp_path / "out")
    assert run.returncode == 2
    assert "every stop is cancelled" in run.stderr
