"""``passband stations``: exit codes, what is written, what is said."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from planner.cli import main
from planner.intake.stations import load_station_tables

SAMPLE = Path(__file__).parents[1] / "unit" / "data" / "post_auction_sample.csv"
CLEAN = """\
FacID,Site,Call,Ch,PC,City,St,Lat,Lon,RCAMSL,HAAT,ERP,DA,AntID,Az
900001,,WAAA-TV,21,40,ALDERTON,NE,411530,955604,640.5,380,850,ND,,
900002,,KQAA-CD,14,14,HAZELVILLE,NE,404860,964260,420,0,15,ND,,
"""


class Answer(NamedTuple):
    code: int
    out: str
    err: str


Run = Callable[..., Answer]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    monkeypatch.chdir(tmp_path)

    def call(*words: str | Path) -> Answer:
        monkeypatch.setattr(sys, "argv", ["passband", "stations", *map(str, words)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            main()
        said = capsys.readouterr()
        code = left.value.code
        return Answer(code if isinstance(code, int) else 0, said.out, said.err)

    return call


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_tolerant_import_writes_table_sidecar_and_report(run: Run, tmp_path: Path) -> None:
    answer = run(SAMPLE, "--from", "fcc-post-auction", "--out", "us.csv", "--report", "report.csv")
    assert answer.code == 0
    assert names(tmp_path) == ["report.csv", "us.csv", "us.csv.coverage.toml"]
    assert "us.csv: 13 transmitters, from 17 rows" in answer.out
    assert "6 repaired, 4 refused" in answer.out
    assert "No low-power stations" in answer.out
    assert "refused: bad-Lat, 2 rows" in answer.err
    assert "repaired: erp-as-dbk, 1 row" in answer.err
    table = load_station_tables([tmp_path / "us.csv"])
    assert len(table) == 13
    assert table.coverages[0].partial is False
    with (tmp_path / "report.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["row"] for row in rows if row["action"] == "refused"] == ["12", "14", "17", "18"]
    assert {row["kind"] for row in rows} >= {"haat-unknown", "seconds-of-60", "repeated"}


def test_json_says_the_same(run: Run) -> None:
    answer = run(SAMPLE, "--from", "fcc-post-auction", "--out", "us.csv", "--json")
    assert answer.code == 0
    told = json.loads(answer.out)
    assert (told["rows_read"], told["rows_written"]) == (17, 13)
    assert (told["repaired"], told["refused"]) == (6, 4)
    assert told["coverage_file"] == "us.csv.coverage.toml"
    assert told["coverage"]["issued"] == "2017-04-13"
    assert told["coverage"]["low_mhz"] == 54.0
    kinds = {(remark["action"], remark["kind"]): remark["rows"] for remark in told["remarks"]}
    assert kinds["refused", "bad-Lat"] == 2


def test_strict_refuses_repairs_but_not_notes(run: Run, tmp_path: Path) -> None:
    answer = run(SAMPLE, "--from", "fcc-post-auction", "--out", "us.csv", "--strict")
    assert answer.code == 2
    assert answer.out == ""
    assert "row 12, column Lat; got 4200; refused: " in answer.err
    assert "not accepted with --strict" in answer.err
    # Row 16 has two figures at fault, so eleven lines for ten rows.
    assert len(answer.err.splitlines()) == 11
    assert names(tmp_path) == []
    (tmp_path / "clean.csv").write_text(CLEAN, encoding="utf-8")
    answer = run("clean.csv", "--from", "fcc-post-auction", "--out", "us.csv", "--strict")
    assert answer.code == 0
    assert "noted: haat-unknown, 1 row" in answer.err


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (None, "bad.csv; got no such file"),
        (b"", "bad.csv; got an empty file"),
        (b"FacID\x00", "bad.csv; got a binary file"),
        (b"a,b\n1,2\n", "not a post-auction table"),
    ],
)
def test_input_at_fault_is_one_line_and_nothing_written(
    run: Run, tmp_path: Path, data: bytes | None, said: str
) -> None:
    if data is not None:
        (tmp_path / "bad.csv").write_bytes(data)
    before = names(tmp_path)
    answer = run("bad.csv", "--from", "fcc-post-auction", "--out", "us.csv")
    assert answer.code == 2
    assert said in answer.err
    assert len(answer.err.splitlines()) == 1
    assert names(tmp_path) == before


def test_our_own_table_is_checked_and_put_into_its_canonical_form(run: Run, tmp_path: Path) -> None:
    (tmp_path / "mine.csv").write_bytes(
        b"\xef\xbb\xbferp_kw,remark,station_id,country,lat_deg,lon_deg,channel,haat\r\n"
        b"850,my own,a,PR,18.4,-66.1,21,300\r\n"
    )
    answer = run("mine.csv", "--from", "passband", "--out", "out.csv")
    assert answer.code == 0
    assert "No coverage sidecar beside mine.csv" in answer.out
    assert 'haat: kept, not used; did you mean "haat_m"?' in answer.err
    assert names(tmp_path) == ["mine.csv", "out.csv"]
    with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as stream:
        (row,) = csv.DictReader(stream)
    assert (row["station_id"], row["country"], row["status"]) == ("a", "US", "on-air")
    assert (row["remark"], row["haat"], row["erp_kw"]) == ("my own", "300", "850")
    again = run("out.csv", "--from", "passband", "--out", "again.csv")
    assert again.code == 0
    assert (tmp_path / "again.csv").read_bytes() == (tmp_path / "out.csv").read_bytes()


def test_our_own_table_at_fault_lists_every_fault(run: Run, tmp_path: Path) -> None:
    (tmp_path / "mine.csv").write_text(
        "station_id,country,lat_deg,lon_deg,channel,erp_kw\na,US,95,-66,37,-1\n", encoding="utf-8"
    )
    answer = run("mine.csv", "--from", "passband", "--out", "out.csv")
    assert answer.code == 2
    assert len(answer.err.splitlines()) == 3
    assert names(tmp_path) == ["mine.csv"]


def test_the_sidecar_of_our_own_table_goes_with_it(run: Run, tmp_path: Path) -> None:
    run(SAMPLE, "--from", "fcc-post-auction", "--out", "us.csv")
    answer = run("us.csv", "--from", "passband", "--out", "copy.csv")
    assert answer.code == 0
    copy, first = tmp_path / "copy.csv", tmp_path / "us.csv"
    assert copy.read_bytes() == first.read_bytes()
    assert (tmp_path / "copy.csv.coverage.toml").read_bytes() == (
        tmp_path / "us.csv.coverage.toml"
    ).read_bytes()


def test_unknown_and_coming_formats_are_refused_in_one_line(run: Run) -> None:
    answer = run(SAMPLE, "--from", "ised", "--out", "us.csv")
    assert answer.code == 2
    assert answer.err == (
        "command line: --from; got ised; allowed: passband / fcc-post-auction / ofcom / mapped; "
        "that format is named for a later version; write the rows as a passband table\n"
    )
    assert "did you mean" in run(SAMPLE, "--from", "fcc-postauction", "--out", "us.csv").err


def test_nothing_of_somebody_elses_is_written_over(run: Run, tmp_path: Path) -> None:
    source = tmp_path / "clean.csv"
    source.write_text(CLEAN, encoding="utf-8")
    (tmp_path / "notes.csv").write_text("my notes\n", encoding="utf-8")
    (tmp_path / "plain.csv").write_text(
        "station_id,country,lat_deg,lon_deg,channel,erp_kw\na,US,41,-95,21,1\n", encoding="utf-8"
    )
    (tmp_path / "old.csv.coverage.toml").write_text('countries = ["US"]\n', encoding="utf-8")
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    base = ("--from", "fcc-post-auction", "--out")
    for words, said in (
        (("clean.csv", *base, "clean.csv"), "it is the file that is read"),
        (("clean.csv", *base, "notes.csv"), "it holds something else"),
        (("clean.csv", *base, "us.csv", "--report", "notes.csv"), "it holds something else"),
        (("clean.csv", *base, "us.csv", "--report", "us.csv"), "written by --out already"),
        (("clean.csv", *base, "gone/us.csv"), "cannot be written: No such file or directory"),
        (
            ("plain.csv", "--from", "passband", "--out", "old.csv"),
            "it is the coverage of another table",
        ),
    ):
        answer = run(*words)
        assert answer.code == 2
        assert said in answer.err
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_second_run_replaces_its_own_files(run: Run, tmp_path: Path) -> None:
    words = (SAMPLE, "--from", "fcc-post-auction", "--out", "us.csv", "--report", "report.csv")
    assert run(*words).code == 0
    first = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert run(*words).code == 0
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == first
