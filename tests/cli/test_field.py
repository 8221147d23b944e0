"""The command ``field``: contract, bad input, and its own example."""

from __future__ import annotations

import csv
import json
import shlex
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.cli import main

REFERENCE = Path(__file__).parents[1] / "reference" / "data"
HEADER = "curve,channel,haat_m,erp_kw,distance_km"
GOOD = HEADER + '\n"F(50,90)",30,300,1000,96.843\n"F(50,10)",9,100,1,400\n'

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Run the command line in an empty folder; return exit code, stdout, stderr."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["passband", "field", *arguments])
        with pytest.raises(SystemExit) as stopped:
            main()
        captured = capsys.readouterr()
        return int(stopped.value.code or 0), captured.out, captured.err

    return call


def rows(path: Path | str) -> list[dict[str, str]]:
    with Path(path).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def listing(folder: str = ".") -> list[str]:
    return sorted(path.name for path in Path(folder).iterdir())


def write(text: str, name: str = "in.csv") -> str:
    Path(name).write_bytes(text.encode())
    return name


def test_reference_fields(run: Run) -> None:
    source = REFERENCE / "fcc_field_checks.csv"
    code, out, err = run(str(source), "--model", "r6602", "--out", "out.csv")
    assert (code, err) == (0, "")
    assert "300 of 300 rows answered" in out
    asked, answered = rows(source), rows("out.csv")
    assert len(answered) == len(asked) == 300
    for before, after in zip(asked, answered, strict=True):
        assert after.pop("fault") == ""
        got = after.pop("field_dbuvm")
        want = before.pop("field_dbuvm")
        assert after == before
        assert len(got.partition(".")[2]) == 4
        # One last digit; two rows near 15 km are 0.001 dB off, see the reference test.
        assert abs(float(got) - float(want)) <= 1.5e-3


def test_reference_distances(run: Run) -> None:
    source = REFERENCE / "fcc_distance_checks.csv"
    code, _, err = run(str(source), "--model", "r6602", "--solve", "distance", "--out", "out.csv")
    assert (code, err) == (0, "")
    for before, after in zip(rows(source), rows("out.csv"), strict=True):
        # The regulator's routine stops up to 2 m short of the root; half a last digit more.
        assert abs(float(after["distance_km"]) - float(before["distance_km"])) <= 2.5e-3
        assert after["field_dbuvm"] == before["field_dbuvm"]


def test_free_space_needs_two_columns(run: Run) -> None:
    write("note,distance_km,erp_kw\nfirst,1,1\nsecond,10,0.001\n")
    code, _, err = run("in.csv", "--model", "free-space", "--out", "out.csv")
    assert (code, err) == (0, "")
    assert Path("out.csv").read_text(encoding="utf-8") == (
        "note,distance_km,erp_kw,field_dbuvm,fault\nfirst,1,1,106.9200,\nsecond,10,0.001,56.9200,\n"
    )


def test_cells_are_kept_as_they_came(run: Run) -> None:
    write(
        "\ufefffault,odd name,erp_kw,field_dbuvm,distance_km\r\n"
        'old," a ""b"", c ",1.000,x, 10.0 \r\n'
    )
    code, _, err = run("in.csv", "--model", "free-space", "--out", "out.csv")
    assert (code, err) == (0, "")
    assert Path("out.csv").read_bytes() == (
        b'fault,odd name,erp_kw,field_dbuvm,distance_km\n," a ""b"", c ",1.000,86.9200, 10.0 \n'
    )


BAD_ROWS = (
    HEADER
    + "\n"
    + '"F(50,90)",30,300,1000,96.843\n'  # row 2: right
    + '"F(50,91)",30,300,1,10\n'
    + '"F(50,90)",37,300,1,10\n'
    + '"F(50,90)",30,high,1,10\n'
    + '"F(50,90)",30,300,-1,10\n'
    + '"F(50,90)",30,300,1,300.1\n'
    + '"F(50,10)",30,300,1,300.1\n'  # row 8: right, this curve goes farther
    + '"F(50,10)",30,300,1,0\n'
    + '"F(50,10)",30,300,1,\n'
    + '"F(50,10)",30,300,1\n'
    + '"F(50,10)",30,300,1,10,11\n'
    + ",,,,\n"
    + '"F(50,10)",30,300,nan,1e999\n'
)
FAULTS = {
    3: 'column curve; got F(50,91); allowed: F(50,50) / F(50,10) / F(50,90); did you mean "F(50,9',
    4: "column channel; got 37; allowed: a channel of United States television: 2 to 36",
    5: "column haat_m; got high; allowed: a number from -10000 to 10000 m",
    6: "column erp_kw; got -1; allowed: a number above 0 kW",
    7: "column distance_km; got 300.1; allowed: a number above 0 and up to 300 km",
    9: "column distance_km; got 0; allowed: a number above 0 and up to 500 km",
    10: "column distance_km; got an empty cell; allowed: a number above 0 and up to 500 km",
    11: "row 11; got 4 cells; allowed: 5 cells, as many as the header",
    12: "row 12; got 6 cells; allowed: 5 cells, as many as the header",
    13: "row 13; got an empty row",
    14: "column erp_kw; got nan; allowed: a number above 0 kW",
}


def test_rows_at_fault_stop_the_writing(run: Run) -> None:
    write(BAD_ROWS)
    code, out, err = run("in.csv", "--model", "r6602", "--out", "out.csv")
    assert (code, out) == (2, "")
    lines = err.splitlines()
    assert len(lines) == len(FAULTS) + 2  # row 14 has two faults; the last line says what to do
    assert lines[0].startswith("in.csv: row 3, column curve; got F(50,91)")
    assert lines[-1] == "nothing written; --keep-going writes the rows that are right"
    assert listing() == ["in.csv"]


def test_rows_at_fault_with_keep_going(run: Run) -> None:
    write(BAD_ROWS)
    code, out, err = run("in.csv", "--model", "r6602", "--out", "out.csv", "--keep-going")
    assert code == 2
    assert "2 of 13 rows answered" in out
    assert len(err.splitlines()) == len(FAULTS) + 1
    answered = dict(enumerate(rows("out.csv"), start=2))
    assert len(answered) == 13
    for number, row in answered.items():
        if number in FAULTS:
            assert row["field_dbuvm"] == ""
            assert FAULTS[number] in row["fault"]
        else:
            assert row["fault"] == ""
            assert row["field_dbuvm"]
    # A line of the reference table: 41 dB(uV/m) at 96.843 km, given to a metre.
    assert abs(float(answered[2]["field_dbuvm"]) - 41.0) <= 5e-4
    assert "column distance_km; got 1e999" in answered[14]["fault"]


def test_many_faults_are_counted(run: Run) -> None:
    write("distance_km,erp_kw\n" + "0,1\n" * 50)
    code, _, err = run("in.csv", "--model", "free-space", "--out", "out.csv")
    assert code == 2
    assert len(err.splitlines()) == 22
    assert "and 30 more faults" in err


def test_a_level_that_is_met_everywhere(run: Run) -> None:
    write('curve,channel,haat_m,erp_kw,field_dbuvm\n"F(50,50)",30,300,1000,-40\n')
    arguments = ("in.csv", "--model", "r6602", "--solve", "distance", "--out", "out.csv")
    assert run(*arguments)[0] == 2
    code, _, err = run(*arguments, "--keep-going")
    assert code == 2
    assert "allowed: a level that the field falls below within 300 km" in err
    assert rows("out.csv")[0]["distance_km"] == ""


def test_json(run: Run) -> None:
    write(BAD_ROWS)
    code, out, _ = run("in.csv", "--model", "r6602", "--out", "out.csv", "--json")
    summary = json.loads(out)
    assert code == 2
    assert [fault["row"] for fault in summary.pop("faults")] == sorted(FAULTS)
    assert summary == {
        "model": "r6602", "solve": "field", "rows": 13, "answered": 2, "out": None,
    }  # fmt: skip
    write(GOOD)
    code, out, err = run("in.csv", "--model", "r6602", "--out", "out.csv", "--json")
    assert (code, err) == (0, "")
    assert json.loads(out) == {
        "model": "r6602", "solve": "field", "rows": 2, "answered": 2, "faults": [],
        "out": "out.csv",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (None, "in.csv; got no such file"),
        (b"", "in.csv; got an empty file"),
        (b" \n\n", "in.csv; got an empty file"),
        (b"\xef\xbb\xbf\n", "in.csv; got no column curve"),
        (HEADER.encode(), "in.csv; got no rows below the header"),
        (b"PK\x03\x04\x00\x00rest", "in.csv; got a binary file"),
        (GOOD.encode("utf-16"), "in.csv; got a binary file"),
        (GOOD.encode() + b"caf\xe9,,,,\n", "row 4; got byte 0xE9, which is not UTF-8"),
        (GOOD.replace(",", ";").encode(), "in.csv; got no column curve, channel, haat_m, erp_kw"),
        (GOOD.replace("erp_kw", "erp").encode(), "in.csv; got no column erp_kw; allowed: comma"),
        (GOOD.replace("haat_m", "erp_kw,haat_m").encode(), "got column erp_kw twice"),
        (GOOD.encode() + b'"F(50,50),1,2\n', "in.csv; got broken quotes at row 4"),
    ],
)
def test_files_that_cannot_be_used(run: Run, content: bytes | None, message: str) -> None:
    if content is not None:
        Path("in.csv").write_bytes(content)
    for extra in ((), ("--keep-going",)):
        code, out, err = run("in.csv", "--model", "r6602", "--out", "out.csv", *extra)
        assert (code, out) == (2, "")
        assert message in err
        assert len(err.splitlines()) == 1
        assert not Path("out.csv").exists()


def test_a_folder_is_no_table(run: Run, tmp_path: Path) -> None:
    code, _, err = run(str(tmp_path), "--model", "r6602", "--out", "out.csv")
    assert code == 2
    assert "got a folder" in err


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--model", "guess"), "got --model guess; allowed: r6602, p1546 or free-space"),
        (
            ("--model", "p1546", "--solve", "distance"),
            "got --solve distance with --model p1546; allowed: --solve distance with r6602",
        ),
        (("--model", "r6602", "--solve", "height"), "got --solve height; allowed: field or dist"),
        (
            ("--model", "free-space", "--solve", "distance"),
            "got --solve distance with --model free-space; allowed: --solve distance with r6602",
        ),
    ],
)
def test_options_that_do_not_fit(run: Run, options: tuple[str, ...], message: str) -> None:
    write(GOOD)
    code, out, err = run("in.csv", *options, "--out", "out.csv")
    assert (code, out) == (2, "")
    assert message in err
    assert len(err.splitlines()) == 1
    assert not Path("out.csv").exists()


@pytest.mark.parametrize("target", ["in.csv", "./in.csv", "link.csv", "hard.csv"])
def test_the_input_is_never_written_over(run: Run, target: str) -> None:
    write(GOOD)
    Path("link.csv").symlink_to("in.csv")
    Path("hard.csv").hardlink_to("in.csv")
    code, _, err = run("in.csv", "--model", "r6602", "--out", target)
    assert code == 2
    assert "got the input as --out" in err
    assert Path("in.csv").read_text(encoding="utf-8") == GOOD


def test_places_that_cannot_be_written(run: Run) -> None:
    write(GOOD)
    Path("folder").mkdir()
    for target in ("nowhere/out.csv", "folder"):
        code, _, err = run("in.csv", "--model", "r6602", "--out", target)
        assert code == 2
        assert f"{target}; got cannot be written" in err
        assert len(err.splitlines()) == 1
    assert listing() == ["folder", "in.csv"]
    assert listing("folder") == []


def test_an_older_answer_is_replaced_whole(run: Run) -> None:
    write(GOOD)
    write("something longer than the answer\n" * 100, "out.csv")
    code, _, _ = run("in.csv", "--model", "r6602", "--out", "out.csv")
    assert code == 0
    assert len(rows("out.csv")) == 2
    assert listing() == ["in.csv", "out.csv"]


def test_the_example_of_the_help_runs(run: Run) -> None:
    code, out, _ = run("--help")
    assert code == 0
    example = next(line for line in out.splitlines() if "Example:" in line)
    program, command, *arguments = shlex.split(example.partition("Example:")[2].strip(" │"))
    assert (program, command) == ("passband", "field")
    write(GOOD, arguments[0])
    assert run(*arguments)[0] == 0
    assert len(rows(arguments[-1])) == 2


def test_paths_of_land_and_sea_by_p1546(run: Run) -> None:
    source = REFERENCE / "itu_p1546_fields.csv"
    code, out, err = run(str(source), "--model", "p1546", "--out", "out.csv")
    assert (code, err) == (0, "")
    assert out == "out.csv: 450 of 450 rows answered (p1546, field)\n"
    for before, after in zip(rows(source), rows("out.csv"), strict=True):
        # 0.01 dB: the goal of the check against the reference code
        wanted = pytest.approx(float(before["field_dbuvm_1kw"]), abs=0.01)
        assert float(after["field_dbuvm"]) == wanted
        assert {name: after[name] for name in before} == before


def test_paths_at_fault_are_told_all_at_once(run: Run) -> None:
    header = "frequency_mhz,time_percent,effective_height_m,path_km,path_zones"
    write(
        f"{header}\n600,50,100,20;30,land;cold-sea\n600,60,100,20,land\n"
        "600,50,100,20;30,land\n600,50,100,20,lake\n600,50,100,900;200,land;land\n"
    )
    code, _, err = run("in.csv", "--model", "p1546", "--out", "out.csv", "--keep-going")
    assert code == 2
    for text in (
        "row 3, column time_percent; got 60; allowed: a number from 1 to 50 %",
        "row 4, column path_zones; got land; allowed: one zone a part of path_km",
        "row 5, column path_zones; got lake; allowed: land / cold-sea / warm-sea",
        "row 6, column path_km; got 900;200; allowed: at most 1000 km together",
    ):
        assert text in err
    assert [bool(row["field_dbuvm"]) for row in rows("out.csv")] == [True, *[False] * 4]
