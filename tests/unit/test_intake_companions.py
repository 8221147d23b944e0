"""Companion tables of a station table: patterns, heights by radial."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from planner.errors import InputFaults
from planner.intake.stations import load_station_tables
from planner.intake.stations.companions import companion_text, find_companion, read_patterns
from planner.intake.tour_files import NamedFiles, file_records

if TYPE_CHECKING:
    from pathlib import Path

TABLE = """\
station_id,country,channel,lat_deg,lon_deg,erp_kw,pattern,pattern_rotation_deg
a,US,21,41.25,-95.93,850,alder,45
b,US,22,41.25,-95.93,850,,
c,US,23,41.25,-95.93,850,lost,
"""
PATTERNS = """\
pattern,azimuth_deg,relative_field
alder,0,1
alder,90,0.25
alder,180,0.5
alder,360,1
"""


def save(folder: Path, **files: str) -> Path:
    (folder / "us.csv").write_text(TABLE, encoding="utf-8")
    for name, text in files.items():
        (folder / name.replace("__", ".")).write_text(text, encoding="utf-8")
    return folder / "us.csv"


def faults_of(folder: Path, patterns: str) -> str:
    path = save(folder, us__csv__patterns__csv=patterns)
    with pytest.raises(InputFaults, match=r"us\.csv\.patterns\.csv") as caught:
        load_station_tables([path], names={path: "us.csv"})
    return str(caught.value)


def test_the_tables_own_companion_comes_first(tmp_path: Path) -> None:
    path = save(tmp_path, patterns__csv=PATTERNS.replace("0.25", "0.75"))
    assert find_companion(path, "patterns") == tmp_path / "patterns.csv"
    (far,) = load_station_tables([path]).patterns.at(np.array([0]), np.array([90.0]))
    save(tmp_path, us__csv__patterns__csv=PATTERNS)
    (own,) = load_station_tables([path]).patterns.at(np.array([0]), np.array([90.0]))
    assert (far, own) == (0.75, 0.25)


def test_who_has_a_pattern_and_who_lacks_one(tmp_path: Path) -> None:
    table = load_station_tables([save(tmp_path, patterns__csv=PATTERNS)])
    assert table.pattern_curve.tolist() == [0, -1, -1]
    assert table.lacks_pattern.tolist() == [False, False, True]
    assert table.patterns.azimuth_deg.tolist() == [0.0, 90.0, 180.0]


def test_heights_by_radial_go_to_their_station(tmp_path: Path) -> None:
    heights = "station_id,azimuth_deg,haat_m\nb,0,100\nb,180,-20\nelsewhere,0,1\nelsewhere,9,2\n"
    table = load_station_tables([save(tmp_path, haat__csv=heights)])
    assert table.haat_curve.tolist() == [-1, 0, -1]
    assert table.radial_haats.values.tolist() == [100.0, -20.0]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("alder,361,1", "row 6, column azimuth_deg; got 361; allowed: a number from 0 to 360 deg"),
        ("alder,10,1.2", "row 6, column relative_field; got 1.2; allowed: a number from 0 to 1"),
        ("alder,10,-3", "row 6, column relative_field; got -3"),
        ("alder,90,0.25", "each azimuth of alder once (360 is 0); row 3 has it"),
        ("birch,90,1", "row 6, column pattern; got birch with one point; allowed: at least 2"),
        ("alder,10,", "row 6, column relative_field; got an empty cell"),
    ],
)
def test_faults_of_a_pattern_table(tmp_path: Path, row: str, said: str) -> None:
    assert said in faults_of(tmp_path, PATTERNS + row + "\n")


def test_a_pattern_in_another_unit_is_a_fault(tmp_path: Path) -> None:
    low = PATTERNS.replace(",1\n", ",0.1\n").replace("0.5", "0.1")
    assert "alder: nowhere more than 0.25" in faults_of(tmp_path, low)
    differing = PATTERNS.replace("360,1", "360,0.9")
    assert "360 is 0" in faults_of(tmp_path, differing)
    assert "another kind of file" in faults_of(tmp_path, "facility,azimuth,field\n1,0,1\n")


def test_all_faults_of_table_and_companion_at_once(tmp_path: Path) -> None:
    path = save(tmp_path, patterns__csv=PATTERNS + "alder,400,1\n")
    path.write_text(TABLE.replace("41.25", "95", 1), encoding="utf-8")
    with pytest.raises(InputFaults, match="lat_deg") as caught:
        load_station_tables([path])
    assert len(caught.value.faults) == 2


def test_a_pattern_table_is_read_only_where_a_station_names_one(tmp_path: Path) -> None:
    path = save(tmp_path, patterns__csv="of,something,else\n1,2,3\n")
    path.write_text(TABLE.replace("alder,45", ",").replace("lost", ""), encoding="utf-8")
    assert len(load_station_tables([path])) == 3


def test_companions_stand_among_the_inputs(tmp_path: Path) -> None:
    path = save(tmp_path, patterns__csv=PATTERNS)
    table = load_station_tables([path])
    records = file_records(NamedFiles(tables={path: "tables/us.csv"}), table, ())
    assert [row.file for row in records] == ["tables/us.csv", "tables/patterns.csv"]
    assert len(records[1].sha256) == 64


def test_two_tables_may_use_one_name_for_two_patterns(tmp_path: Path) -> None:
    first = save(tmp_path, us__csv__patterns__csv=PATTERNS)
    other = tmp_path / "ca.csv"
    text = TABLE.replace("\na,", "\nd,").replace("\nb,", "\ne,").replace("\nc,", "\nf,")
    other.write_text(text, encoding="utf-8")
    (tmp_path / "ca.csv.patterns.csv").write_text(
        PATTERNS.replace("0.25", "0.75"), encoding="utf-8"
    )
    table = load_station_tables([first, other])
    at_90 = table.patterns.at(table.pattern_curve[[0, 3]], np.array([90.0, 90.0]))
    assert at_90.tolist() == [0.25, 0.75]


def test_a_companion_is_read_back_as_written(tmp_path: Path) -> None:
    path = tmp_path / "p.csv"
    path.write_text(PATTERNS, encoding="utf-8")
    curves = read_patterns(path)
    text = companion_text(("pattern", "azimuth_deg", "relative_field"), curves)
    path.write_text(text, encoding="utf-8")
    assert read_patterns(path) == curves == {"alder": ((0.0, 1.0), (90.0, 0.25), (180.0, 0.5))}
