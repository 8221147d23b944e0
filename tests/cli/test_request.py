"""Request and answer: what goes out, what comes back, and what has to be sent back again."""

from __future__ import annotations

import csv
import io
import json
import tomllib
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest

from planner.intake.reply import read_reply
from tests.cli.running import copy_of_demo, files_under, passband

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

STOP = "omaha-1"
STEM = "2027-03-12_omaha-1"
OFF_STEP, OUTSIDE = "477.830", "610.200"
Rows = list[dict[str, str]]


@pytest.fixture(scope="module")
def tour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo's tour file, cut to three stops: an answer is for one."""
    file = copy_of_demo(tmp_path_factory.mktemp("tour"))
    parts = file.read_text(encoding="utf-8").split("[[stop]]")
    keep = [part for part in parts[1:-1] if "Omaha" in part or "Denver" in part or "St. L" in part]
    rest = parts[-1][parts[-1].index("[[need]]") :]
    text = "[[stop]]".join([parts[0], *keep]) + rest
    text = text.replace('stops = ["phoenix-1", "las-vegas-1"]', 'stops = ["denver-1"]')
    file.write_text(text, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def planned(tour: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of its plan."""
    out = tmp_path_factory.mktemp("planned") / "plan"
    run = passband("plan", tour, "--out", out, "--effort", "quick")
    assert run.returncode == 0, run.stderr
    return out


@pytest.fixture(scope="module")
def requested(planned: Path) -> Path:
    """Return the folder of a request made of it."""
    out = planned.parent / "requests"
    run = passband("request", STOP, "--plan", planned, "--out", out)
    assert run.returncode == 0, run.stderr
    assert "16 lines, 3 spares, 1 fixed" in run.stdout
    return out


def _rows(text: str) -> Rows:
    return list(csv.DictReader(io.StringIO(text)))


def _asked(requested: Path) -> Rows:
    return _rows((requested / f"{STEM}_request.csv").read_text(encoding="utf-8"))


def _answer(requested: Path, change: Callable[[Rows], None]) -> str:
    """Return the request as it comes back: the planned frequencies given, but for a change."""
    rows = _asked(requested)
    for row in rows:
        row["assigned_mhz"] = row["planned_mhz"]
    change(rows)
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0])
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _assign(tour: Path, planned: Path, folder: Path, text: str, *more: str) -> dict[str, Any]:
    """Return what ``assign --json`` says of an answer, with its exit code."""
    (folder / "answer.csv").write_text(text, encoding="utf-8")
    run = passband(
        *("assign", STOP, folder / "answer.csv", "--tour", tour, "--out", folder / "plan"),
        *("--previous", planned / "plan.json", "--effort", "quick", "--json", *more),
    )
    assert run.returncode in (0, 3), run.stderr
    return {**json.loads(run.stdout), "exit": run.returncode}


def _omaha(folder: Path) -> dict[str, Any]:
    document = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    return next(stop for stop in document["stops"] if stop["id"] == STOP)


def test_a_request_says_what_is_asked_for(requested: Path, planned: Path) -> None:
    rows = _asked(requested)
    carriers = _omaha(planned)["carriers"]
    assert [float(row["planned_mhz"]) for row in rows] == [
        carrier["frequency_mhz"] for carrier in carriers
    ]
    lead = rows[0]
    assert (lead["name"], lead["line"], lead["role"], lead["count"]) == (
        "Lead", "vocals 1", "mic", "1",
    )  # fmt: skip
    assert lead["power_kind"] == "EIRP"
    for key in ("tuning_mhz", "step_khz", "bandwidth_khz", "modulation", "power_mw", "first_date"):
        assert lead[key]
    assert all(row[key] == "" for row in rows for key in ("assigned_mhz", "contact_name"))
    assert [row["name"] for row in rows if row["fixed"] == "yes"] == ["house announcement"]


def test_the_workbook_of_a_request_has_the_same_rows_under_a_frozen_header(requested: Path) -> None:
    book = openpyxl.load_workbook(requested / f"{STEM}_request.xlsx")
    assert book.sheetnames == ["lines", "ranges", "facts"]
    lines = book["lines"]
    assert lines.freeze_panes == "A2"
    heads = [cell.value for cell in lines[1]]
    assert {"planned [MHz]", "step [kHz]", "power [mW]"} <= set(heads)
    place = heads.index("planned [MHz]")
    assert [row[place].value for row in lines.iter_rows(min_row=2)] == [
        float(row["planned_mhz"]) for row in _asked(requested)
    ]


def test_the_workbook_comes_back_filled_in(requested: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(requested / f"{STEM}_request.xlsx")
    heads = [cell.value for cell in book["lines"][1]]
    planned, given = heads.index("planned [MHz]"), heads.index("assigned [MHz]")
    for row in book["lines"].iter_rows(min_row=2):
        row[given].value = row[planned].value
    book.save(tmp_path / "answer.xlsx")
    reply = read_reply(tmp_path / "answer.xlsx", stop=STOP)
    asked = _asked(requested)
    assert [(row.line, row.name, row.frequency_hz) for row in reply.rows] == [
        (row["line"], row["name"], round(float(row["planned_mhz"]) * 1e6)) for row in asked
    ]


def test_the_same_plan_gives_the_same_request(requested: Path, planned: Path) -> None:
    again = planned.parent / "again"
    assert passband("request", STOP, "--plan", planned, "--out", again).returncode == 0
    assert files_under(again) == files_under(requested)
    pdf = (again / f"{STEM}_request.pdf").read_bytes()
    assert pdf.startswith(b"%PDF-")
    assert pdf.rstrip().endswith(b"%%EOF")


def test_a_request_that_somebody_filled_in_is_not_written_over(planned: Path) -> None:
    out = planned.parent / "filled"
    assert passband("request", STOP, "--plan", planned, "--out", out).returncode == 0
    file = out / f"{STEM}_request.csv"
    file.write_text(file.read_text(encoding="utf-8") + "filled in\n", encoding="utf-8")
    before = files_under(out)
    run = passband("request", STOP, "--plan", planned, "--out", out)
    assert run.returncode == 2
    assert f"{STEM}_request.csv" in run.stderr
    assert files_under(out) == before


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["omaha"], 'did you mean "omaha-1"?'),
        ([STOP, "--range", "Alder 1-2"], "Alder 470.1-513.9"),
    ],
)
def test_what_the_plan_does_not_hold_is_told(
    planned: Path, tmp_path: Path, options: list[str], said: str
) -> None:
    run = passband("request", *options, "--plan", planned, "--out", tmp_path / "out")
    assert run.returncode == 2
    assert said in run.stderr
    assert not (tmp_path / "out").exists()


def _spoil(rows: Rows) -> None:
    rows[0]["assigned_mhz"], rows[1]["assigned_mhz"] = OFF_STEP, OUTSIDE
    rows[2]["assigned_mhz"] = ""


def test_two_useless_frequencies_and_a_missing_one_go_back(
    tour: Path, planned: Path, requested: Path, tmp_path: Path
) -> None:
    given = _answer(requested, _spoil)
    answer = _assign(tour, planned, tmp_path, given, "--reference", "mail 7")
    assert answer["exit"] == 3  # three lines and spares have no frequency now
    told = [(row["name"], row["assigned_mhz"], row["kind"]) for row in answer["clashes"]]
    assert told == [
        ("Lead", float(OFF_STEP), "cannot be used"),
        ("Guitar", float(OUTSIDE), "cannot be used"),
        ("Keys", None, "missing"),
    ]
    assert "off the grid" in answer["clashes"][0]["reason"]
    assert "outside" in answer["clashes"][1]["reason"]
    stop = _omaha(tmp_path / "plan")
    ours = {row["name"]: row for row in stop["carriers"] if row["need"] == "vocals"}
    asked = {row["name"]: row for row in _asked(requested) if row["need"] == "vocals"}
    for name in ("Bass", "Drums", "vocals 6", "vocals 10"):  # each keeps what was given to it
        assert ours[name]["frequency_mhz"] == float(asked[name]["planned_mhz"])
        assert ours[name]["assigned"]
    back = _rows((tmp_path / "plan" / f"{STEM}_reply_clashes.csv").read_text(encoding="utf-8"))
    assert [row["name"] for row in back] == ["Lead", "Guitar", "Keys"]
    assert all(row["what_would_do"] for row in back)
    # what would do does, all together: the next answer leaves nothing to send back
    tries = {row["name"]: row["try_mhz"] for row in back}
    assert all(tries.values())

    def mend(rows: Rows) -> None:
        for row in rows:
            if row["need"] == "vocals" and row["name"] in tries:
                row["assigned_mhz"] = tries[row["name"]]

    second = tmp_path / "second"
    second.mkdir()
    mended = _assign(tour, planned, second, _answer(requested, mend))
    assert (mended["exit"], mended["clashes"]) == (0, [])
    assert all(row["empty"] == [] for row in mended["needs"])


def test_frequencies_that_do_not_go_together_are_told_with_whom(
    tour: Path, planned: Path, requested: Path, tmp_path: Path
) -> None:
    def near(rows: Rows) -> None:
        rows[1]["assigned_mhz"] = f"{float(rows[0]['planned_mhz']) + 0.125:.3f}"  # spacing: 375 kHz

    answer = _assign(tour, planned, tmp_path, _answer(requested, near))
    assert [row["kind"] for row in answer["clashes"]] == ["clashes"]
    assert {"Lead", "Guitar"} & set(answer["clashes"][0]["reason"].replace(",", " ").split())
    assert answer["clashes"][0]["try_mhz"]


def test_the_snippet_belongs_into_the_tour_file(
    tour: Path, planned: Path, requested: Path, tmp_path: Path
) -> None:
    _assign(tour, planned, tmp_path, _answer(requested, lambda _: None), "--reference", 'no "7"')
    snippet = (tmp_path / "plan" / f"{STEM}_assigned.toml").read_text(encoding="utf-8")
    tables = tomllib.loads(snippet)["assigned"]
    assert [(row["stop"], row["need"], row["reference"]) for row in tables] == [
        (STOP, "vocals", 'no "7"'),
        (STOP, "ears", 'no "7"'),
    ]
    pasted = copy_of_demo(tmp_path / "pasted")
    pasted.write_text(tour.read_text(encoding="utf-8") + "\n" + snippet, encoding="utf-8")
    out = tmp_path / "next"
    run = passband(
        *("plan", pasted, "--out", out, "--effort", "quick"),
        *("--previous", tmp_path / "plan" / "plan.json"),
    )
    assert run.returncode == 0, run.stderr
    with_answer = _omaha(tmp_path / "plan")["carriers"]
    assert _omaha(out)["carriers"] == with_answer
    assert {row["assigned"] for row in with_answer if row["need"]} == {True}


@pytest.mark.parametrize(
    ("text", "more", "said"),
    [
        ("name,need,MHz\nLead,vocal,477.825\n", (), 'did you mean "vocals"?'),
        ("name,note\nLead,none\n", (), "--map"),
        ("Lead,477.825\n", ("--unit", "GHz"), "MHz / kHz / Hz"),
        ("Lead,477.825\n", ("--need", "drums"), "--need"),
    ],
)
def test_an_answer_that_nobody_can_read_writes_nothing(
    tour: Path, tmp_path: Path, text: str, more: tuple[str, ...], said: str
) -> None:
    (tmp_path / "answer.csv").write_text(text, encoding="utf-8")
    out = tmp_path / "plan"
    run = passband("assign", STOP, tmp_path / "answer.csv", "--tour", tour, "--out", out, *more)
    assert run.returncode == 2
    assert said in run.stderr
    assert not out.exists()
