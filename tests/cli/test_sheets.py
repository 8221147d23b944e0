"""``passband sheets``: a plan printed again, and the PDFs that plan and demo write."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from tests.cli.running import DEMO, copy_of_demo, files_under, passband
from tests.report.pdf_reading import pages_of

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("sheets") / "demo"
    run = passband("demo", "--out", out)
    assert run.returncode == 0, run.stderr
    return out


def first_of_omaha(plan: dict[str, Any]) -> float:
    """Return the first microphone's frequency at Omaha [MHz]."""
    (stop,) = (row for row in plan["stops"] if row["id"] == "omaha-1")
    return float(next(row for row in stop["carriers"] if row["need"] == "vocals")["frequency_mhz"])


def test_the_default_print_is_what_the_plan_wrote(demo: Path, tmp_path: Path) -> None:
    run = passband("sheets", demo, "--out", tmp_path / "again")
    assert run.returncode == 0, run.stderr
    assert run.stdout == f"Written to {tmp_path / 'again'}: 22 PDF files in sheets\n"
    assert run.stderr == ""
    written = {n: raw for n, raw in files_under(demo).items() if n.endswith(".pdf")}
    printed = {n: raw for n, raw in files_under(tmp_path / "again").items() if n.endswith(".pdf")}
    assert printed == written
    assert "sheets/2027-03-12_omaha-1_crew.pdf" in written


def test_options_print_more_without_computing(demo: Path, tmp_path: Path) -> None:
    run = passband(
        "sheets", demo / "plan.json", "--out", tmp_path, "--order", "frequency", "--paper",
        "letter", "--labels", "--pocket", "--anonymous", "--json",
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    files = json.loads(run.stdout)["files"]
    assert len(files) == 41
    assert "plan.json" not in files_under(tmp_path)
    for name in files:
        text = "".join(pages_of((tmp_path / name).read_bytes()))
        for performer in ("Monitorengineer", "Guitar", "Drums"):
            assert performer not in text, name
    crew = "".join(pages_of((tmp_path / "sheets/2027-03-12_omaha-1_crew_numbers.pdf").read_bytes()))
    assert "vocals1" in crew
    plan = json.loads((demo / "plan.json").read_text(encoding="utf-8"))
    assert f"{first_of_omaha(plan):.3f}" in crew


def test_a_plan_and_its_prints_share_a_folder(tmp_path: Path) -> None:
    """A later run of the plan knows the prints as its own, and takes back what it has not."""
    tour = copy_of_demo(tmp_path / "tour")
    assert passband("plan", tour, "--out", tmp_path / "p", "--effort", "quick").returncode == 0
    assert passband("sheets", tmp_path / "p", "--out", tmp_path / "p", "--labels").returncode == 0
    names = files_under(tmp_path / "p")
    assert "sheets/2027-03-12_omaha-1_labels.pdf" in names
    assert "sheets/2027-03-12_omaha-1.html" in names
    text = tour.read_text(encoding="utf-8")
    (tmp_path / "old.json").write_bytes(names["plan.json"])
    mhz = first_of_omaha(json.loads(names["plan.json"]))
    closed = f'low_mhz = {mhz - 0.1:.3f}\nhigh_mhz = {mhz + 0.1:.3f}\nreason = "x"'
    tour.write_text(f"{text}\n[[exclude]]\n{closed}\n")
    again = passband("plan", tour, "--out", tmp_path / "p", "--effort", "quick")
    assert again.returncode == 0, again.stderr
    names = files_under(tmp_path / "p")
    assert "sheets/2027-03-12_omaha-1_labels.pdf" not in names
    crew = {n: raw for n, raw in names.items() if n.endswith("_crew.pdf")}
    told = ["".join(pages_of(raw)) for raw in crew.values()]
    assert all("issue2,replaces1" in text for text in told)
    assert all("notathand" not in text for text in told)
    assert any("setotherwise" in text and f"issue1:{mhz:.3f}" in text for text in told)
    bare = passband("sheets", tmp_path / "p", "--out", tmp_path / "bare")
    assert bare.returncode == 0
    marked = passband(
        "sheets", tmp_path / "p", "--out", tmp_path / "m", "--previous", tmp_path / "old.json"
    )
    assert marked.returncode == 0
    for name, raw in crew.items():
        assert (tmp_path / "m" / name).read_bytes() == raw
        assert "notathand" in "".join(pages_of((tmp_path / "bare" / name).read_bytes()))


def test_somebody_elses_file_is_not_written_over(demo: Path, tmp_path: Path) -> None:
    (tmp_path / "sheets").mkdir()
    mine = tmp_path / "sheets" / "buying.pdf"
    mine.write_text("mine", encoding="utf-8")
    run = passband("sheets", demo, "--out", tmp_path)
    assert run.returncode == 2
    assert "something that passband did not write" in run.stderr
    assert mine.read_text(encoding="utf-8") == "mine"
    assert len(files_under(tmp_path)) == 1


@pytest.mark.parametrize(
    ("args", "told"),
    [
        ((DEMO, "--out", "x"), "name a plan.json that passband wrote, or its folder"),
        (("{demo}", "--out", "x", "--order", "colour"), "not one of name, rack, frequency"),
        (("{demo}", "--out", "x", "--paper", "a3"), "not one of a4, letter"),
    ],
)
def test_bad_input_is_told_and_nothing_written(
    demo: Path, tmp_path: Path, args: tuple[str, ...], told: str
) -> None:
    given = [str(arg).replace("{demo}", str(demo)) for arg in args]
    run = passband("sheets", *given, cwd=tmp_path)
    assert run.returncode == 2
    assert told in " ".join(run.stderr.replace("\u2502", " ").split())
    assert not files_under(tmp_path)
