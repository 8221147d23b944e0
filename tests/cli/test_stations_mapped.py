"""``passband stations --from mapped``: any table, by the columns that the user names."""

from __future__ import annotations

import csv
import shlex
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from planner.cli import main
from planner.intake.stations import load_station_tables

SHARED = Path(__file__).resolve().parents[3] / "shared" / "open-tv"
LIST = """\
Nr;Name;Kanal;Breite;Laenge;Leistung;Hoehe;Ant;Dreh;Art
1;Alder Hill;21;41,25;95,93;850000;380;DA;45;F
2;Birch Moor;22;41,30;96,10;15000;0;ND;;A
2;Cedar Top;44;41,30;96,10;200. W;120;ND;;F
4;Dogwood;23;95;96,10;15000;10;ND;;F
5;Elder;24;41,1;96,0;1000;10;DA;nord;X
6;Fir;25;41,1;96,0;1000;10;DA;0;F
"""
PATTERNS = "Ant,Az,dB\n1,0,0\n1,90,-6.0206\n1,180,-20\n9,0,0\n9,5,-1\n"
WORDS = (
    "list.txt --from mapped --out us.csv --map station_id=Nr --map name=Name --map country==US "
    "--map channel=Kanal --map lat_deg=Breite --map lon_deg=Laenge --west-positive "
    "--map erp_kw=Leistung --unit erp_kw=W --map haat_m=Hoehe --map directional=Ant "
    "--map pattern=Nr --map pattern_rotation_deg=Dreh --map service=Art "
    "--word service:F=full --word service:A=class-a --patterns ant.csv "
    "--pattern-map pattern=Ant --pattern-map azimuth_deg=Az --pattern-map relative_field=dB "
    "--covers full --covers class-a --issued 2026-10-01 --missing 'no translators'"
)


class Answer(NamedTuple):
    code: int
    out: str
    err: str


Run = Callable[[str], Answer]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.txt").write_text(LIST, encoding="cp1252")
    (tmp_path / "ant.csv").write_text(PATTERNS, encoding="utf-8")

    def call(words: str) -> Answer:
        monkeypatch.setattr(sys, "argv", ["passband", "stations", *shlex.split(words)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            main()
        said = capsys.readouterr()
        code = left.value.code
        return Answer(code if isinstance(code, int) else 0, said.out, said.err)

    return call


def rows_of(path: Path) -> dict[str, dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return {row["station_id"]: row for row in csv.DictReader(stream)}


def test_a_foreign_table_becomes_ours(run: Run, tmp_path: Path) -> None:
    answer = run(WORDS + " --zero-unknown --report report.csv")
    assert answer.code == 0, answer.err
    rows = rows_of(tmp_path / "us.csv")
    assert list(rows) == ["1", "2", "2-x2", "5", "6"]
    alder = rows["1"]
    assert (alder["lat_deg"], alder["lon_deg"]) == ("41.250000", "-95.930000")
    assert (alder["erp_kw"], alder["haat_m"], alder["service"]) == ("850", "380", "full")
    assert (alder["pattern"], alder["pattern_rotation_deg"]) == ("1", "45")
    assert (rows["2"]["pattern"], rows["2"]["haat_m"], rows["2"]["service"]) == ("", "", "class-a")
    assert (rows["2-x2"]["status"], rows["2-x2"]["low_mhz"]) == ("off", "650")
    assert rows["2-x2"]["erp_kw"] == "0.2"
    assert (rows["5"]["pattern"], rows["5"]["service"]) == ("", "")
    for said in (
        "refused: bad-lat_deg, 1 row",
        "repaired: off-raster, 1 row",
        "repaired: pattern-dropped, 1 row",
        "repaired: pattern-db, 1 row",
        "noted: pattern-unknown, 1 row",
        "noted: haat_m-unknown, 1 row",
        "--word service:X=OURS",
    ):
        assert said in answer.err
    table = load_station_tables([tmp_path / "us.csv"])
    assert table.pattern_curve.tolist() == [0, -1, -1, -1, -1]
    # -6.0206 dB and -20 dB as relative field; six figures are written
    assert table.patterns.values.tolist() == pytest.approx([1.0, 0.5, 0.1], abs=1e-5)
    claim = table.coverages[0]
    assert (claim.services, claim.countries) == (("full", "class-a"), ("US",))
    assert (str(claim.issued), claim.missing_note) == ("2026-10-01", "no translators")


def test_our_form_of_it_takes_its_companion_along(run: Run, tmp_path: Path) -> None:
    run(WORDS + " --zero-unknown")
    assert run("us.csv --from passband --out copy.csv").code == 0
    for suffix in ("", ".patterns.csv", ".coverage.toml"):
        assert (tmp_path / f"copy.csv{suffix}").read_bytes() == (
            tmp_path / f"us.csv{suffix}"
        ).read_bytes()


def test_what_cannot_be_known_is_asked(run: Run) -> None:
    answer = run(WORDS)
    assert answer.code == 0
    assert "not 0: --zero-unknown says that 0 means unknown" in answer.err
    assert "give --west-positive" in run(WORDS.replace("--west-positive", "")).err
    turned = run(WORDS.replace("--map pattern_rotation_deg=Dreh", ""))
    assert turned.code == 2
    assert "pattern without pattern_rotation_deg" in turned.err
    abroad = run(WORDS.replace("country==US", "country==IN"))
    assert abroad.code == 2
    assert "--raster COUNTRY" in abroad.err
    assert run(WORDS.replace("country==US", "country==CA") + " --raster US").code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("--map erp=Leistung", 'did you mean "erp_kw"?'),
        ("--map erp_kw=Leistung", "nothing for lat_deg"),
        ("--map erp_kw", "allowed: OURS=THEIRS"),
        ("--unit erp_kw=hp", "kW / W / dBk"),
        ("--word art:F=full", "COLUMN:THEIRS=OURS"),
        ("--issued soon", "a date as YYYY-MM-DD"),
        ("--covers all", "full / class-a"),
    ],
)
def test_a_mapping_that_says_nothing_is_a_fault(run: Run, words: str, said: str) -> None:
    answer = run(f"list.txt --from mapped --out us.csv {words}")
    assert answer.code == 2
    assert said in answer.err


def test_a_column_that_is_not_there_is_named(run: Run) -> None:
    answer = run(WORDS.replace("=Kanal", "=Kanaal"))
    assert answer.code == 2
    assert "no column Kanaal for channel" in answer.err
    assert 'did you mean "Kanal"?' in answer.err


def test_a_mapping_with_another_format_is_a_fault(run: Run) -> None:
    answer = run("list.txt --from passband --out us.csv --map erp_kw=Leistung")
    assert answer.code == 2
    assert "mapped, with --map" in answer.err


@pytest.mark.parametrize(
    ("country", "written", "directional"), [("us", 2180, 1415), ("ca", 795, 288), ("mx", 280, 143)]
)
def test_the_study_tables_of_three_countries(
    run: Run, tmp_path: Path, country: str, written: int, directional: int
) -> None:
    """Counts are those of the files: 20 rows of the United States have no power."""
    if not SHARED.is_dir():
        pytest.skip("needs the folder shared/ beside the checkout")
    answer = run(
        f"{SHARED}/{country}/stations_2015.csv --from mapped --out t.csv "
        "--map station_id=facility_id --map name=call --map country=country --map channel=channel "
        "--map lat_deg=lat_deg --map lon_deg=lon_deg --map antenna_amsl_m=rcamsl_m "
        "--map haat_m=haat_m --map erp_kw=erp_kw --zero-unknown --raster US "
        "--map directional=antenna --map pattern=facility_id --map pattern_rotation_deg==0 "
        f"--patterns {SHARED}/us/patterns_2015.csv --pattern-map pattern=facility_id "
        "--covers full --issued 2015-10-01"
    )
    assert answer.code == 0, answer.err
    table = load_station_tables([tmp_path / "t.csv"])
    assert len(table) == written
    assert int((table.pattern != "").sum()) == directional
    known = directional if country == "us" else 0
    assert int((table.pattern_curve >= 0).sum()) == known
    assert not table.coverages[0].partial
