from __future__ import annotations

import csv
from pathlib import Path

import openpyxl
import pytest

from planner.errors import InputFaults
from planner.intake.stations.conversion import convert_stations
from planner.intake.stations.importers import NOTED, REFUSED, REPAIRED, ImportedTable
from planner.intake.stations.loading import load_station_tables
from planner.intake.stations.ofcom import read
from planner.intake.stations.ofcom_groups import partners

MAIN = (
    "Site Number",
    "Site Name",
    "GBNGR",
    "GBNGRX",
    "GBNGRX",
    "IrishGR",
    "Site Height (m)",
    "Average Antenna Height (m)",
    "Polarisation",
    *(f"PSB1 {what}" for what in ("Channel", "Offset", "ERP (kW)")),
    *(f"COM4 {what}" for what in ("Channel", "Offset", "ERP (kW)")),
    "Notes",
)
OTHER = (
    "DSO Site Number",
    "Site Name",
    "GBNGR",
    "Site Height (m AOD)",
    "LTVMux Antenna Height (m AGL)",
    "LTVMux Channel",
    "LTVMux Polarisation",
    "LTV ERP (kW)",
    "COM7 Antenna Height (m AGL)",
    "COM7 Channel",
    "COM7  Polarisation",
    "COM7 ERP (kW)",
    "Notes",
)
HIGH = ("1", "High Moor", "SE22291288", "422290", "412880", "", "256", "300", "H")
ROW = (*HIGH, "47", "+", "174", "33", "", "87", "SFN with Low Vale (PSB multiplexes).")
VALE = ("2", "Low Vale", "SE40001000", "440000", "410000", "", "30", "20", "V")
RELAY = (*VALE, "47", "", "0.01", "33", "", "0.02", "")
FENS = ("3", "Fens", "NW41193098", "141190", "530980", "IJ287750", "365", "148", "V")


def save(tmp_path: Path, *rows: tuple[str, ...]) -> Path:
    path = tmp_path / "list.csv"
    with path.open("w", encoding="utf-8-sig", newline="") as stream:
        csv.writer(stream).writerows([MAIN, *rows])
    return path


def book(tmp_path: Path) -> Path:
    made = openpyxl.Workbook()
    made.remove(made.active)
    main, other, aside = (made.create_sheet(name) for name in ("Main", "Other", "Read me"))
    aside.append(["text of no matter"])
    for sheet, rows in (
        (main, (MAIN, ROW, RELAY)),
        (other, (OTHER, (1, "High Moor", "SE22291288", 256, 290.0, 39.0, "V", 1, 290, 55, "H", 5))),
    ):
        for row in rows:
            sheet.append(row)
    path = tmp_path / "list.xlsx"
    made.save(path)
    return path


def kinds(table: ImportedTable) -> list[tuple[str, str]]:
    return [(remark.action, remark.kind) for remark in table.remarks]


def test_a_site_becomes_a_transmitter_a_multiplex(tmp_path: Path) -> None:
    table = read(save(tmp_path, ROW))
    first, second = table.rows
    assert (first["station_id"], second["station_id"]) == ("gb-1-psb1", "gb-1-com4")
    assert (first["channel"], first["low_mhz"], first["high_mhz"]) == ("47", "678", "686")
    assert (second["channel"], second["low_mhz"], second["high_mhz"]) == ("33", "566", "574")
    assert (first["erp_kw"], second["erp_kw"]) == ("174", "87")
    assert (first["site_amsl_m"], first["height_agl_m"]) == ("256", "300")
    assert first["polarization"] == "horizontal"
    assert "offset +1/6 MHz" in first["source"]
    assert "offset" not in second["source"]
    # 53.61 N 1.66 W: the square SE 22 12 lies south of Huddersfield; 0.01 deg tells a wrong letter.
    assert float(first["lat_deg"]) == pytest.approx(53.61, abs=0.01)
    assert float(first["lon_deg"]) == pytest.approx(-1.66, abs=0.01)
    assert table.coverage is not None
    assert table.coverage.missing_note.startswith("Only one of the list's two sheets")
    assert table.coverage.issued is None


def test_every_sheet_of_a_workbook_is_read(tmp_path: Path) -> None:
    table = read(book(tmp_path))
    by_id = {row["station_id"]: row for row in table.rows}
    assert sorted(by_id) == [
        *("gb-1-com4", "gb-1-com7", "gb-1-ltvmux", "gb-1-psb1", "gb-2-com4", "gb-2-psb1"),
    ]
    local = by_id["gb-1-ltvmux"]
    assert (local["channel"], local["erp_kw"], local["polarization"]) == ("39", "1", "vertical")
    assert (local["height_agl_m"], local["system"]) == ("290", "dvb-t")
    closed = by_id["gb-1-com7"]
    assert (closed["status"], closed["low_mhz"], closed.get("channel", "")) == ("off", "742", "")
    assert (REPAIRED, "switched-off") in kinds(table)
    assert table.coverage is not None
    assert table.coverage.issued is not None
    assert not table.coverage.missing_note.startswith("Only one")


def test_networks_named_in_notes_are_united_on_one_channel(tmp_path: Path) -> None:
    by_id = {row["station_id"]: row for row in read(save(tmp_path, ROW, RELAY)).rows}
    assert by_id["gb-1-psb1"]["group_id"] == by_id["gb-2-psb1"]["group_id"] == "gb-1-psb1"
    assert "group_id" not in by_id["gb-1-com4"]
    moved = (*VALE, "44", "", "0.01", "33", "", "0.02", "")
    assert not any("group_id" in row for row in read(save(tmp_path, ROW, moved)).rows)


def test_a_partner_that_is_not_there_is_told(tmp_path: Path) -> None:
    table = read(save(tmp_path, ROW))
    assert kinds(table) == [(NOTED, "partner-unknown")]
    assert table.remarks[0].row_number == 2


@pytest.mark.parametrize(
    ("note", "found"),
    [
        ("SFN with Sudley.", [("", "Sudley")]),
        ("SFN with A Hill & B & C from clearance.", [("", "A Hill"), ("", "B"), ("", "C")]),
        ("SFN (PSB multiplexes) with A and B. SFN (COM multiplexes) with C", [("PSB", "A")]),
        ("New site.", []),
    ],
)
def test_partners_of_a_note(note: str, found: list[tuple[str, str]]) -> None:
    assert partners(note)[: len(found)] == found
    assert bool(partners(note)) == bool(found)


@pytest.mark.parametrize(
    ("position", "text", "expected"),
    [
        (2, "I can not say", (REFUSED, "bad-GBNGR")),
        (2, "HL00000000", (REFUSED, "bad-GBNGR")),
        (9, "20", (REFUSED, "bad-channel")),
        (11, "0", (REFUSED, "bad-erp")),
        (11, "", (REFUSED, "bad-erp")),
        (7, "high", (REPAIRED, "height-dropped")),
        (7, "", (NOTED, "height-unknown")),
    ],
)
def test_what_is_wrong_is_told_and_the_rest_is_kept(
    tmp_path: Path, position: int, text: str, expected: tuple[str, str]
) -> None:
    bad = (*ROW[:position], text, *ROW[position + 1 :])
    table = read(save(tmp_path, bad, RELAY))
    assert expected in kinds(table)
    assert any(row["station_id"] == "gb-2-psb1" for row in table.rows)


def test_references_of_both_grids_must_agree(tmp_path: Path) -> None:
    good = (*FENS, "27", "", "100", "", "", "", "")
    assert kinds(read(save(tmp_path, good))) == []
    bad = (*FENS[:5], "IJ387750", *FENS[6:], "27", "", "100", "", "", "", "")
    assert kinds(read(save(tmp_path, bad))) == [(REPAIRED, "references-differ")]


def test_a_transmitter_that_is_not_on_the_air_is_off(tmp_path: Path) -> None:
    table = read(save(tmp_path, (*ROW[:15], "Not currently on-air")))
    assert {row["status"] for row in table.rows} == {"off"}


def test_a_site_named_twice_keeps_two_ids(tmp_path: Path) -> None:
    ids = [row["station_id"] for row in read(save(tmp_path, RELAY, RELAY)).rows]
    assert ids == ["gb-2-psb1", "gb-2-com4", "gb-2-psb1-x2", "gb-2-com4-x2"]


def test_another_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "other.csv"
    path.write_text("a,b\n1,2\n", encoding="utf-8")
    with pytest.raises(InputFaults, match="no columns GBNGR"):
        read(path)
    path.write_bytes(b"PK\x03\x04broken")
    with pytest.raises(InputFaults, match="cannot be read"):
        read(path)
    with pytest.raises(InputFaults, match="no such file"):
        read(tmp_path / "absent.csv")
    with pytest.raises(InputFaults, match="none usable"):
        read(save(tmp_path, (*ROW[:2], "?", *ROW[3:])))


def test_it_reads_back_as_a_station_table(tmp_path: Path) -> None:
    out = tmp_path / "gb.csv"
    convert_stations(book(tmp_path), "ofcom", out)
    stations = load_station_tables([out])
    assert len(stations) == 6
    assert stations.low_hz.max() == 742_000_000


SHARED = Path(__file__).parents[3] / "shared" / "open-tv" / "uk" / "700-plan-clearance.xlsx"


@pytest.mark.skipif(not SHARED.is_file(), reason="the published workbook is not beside this tree")
def test_the_published_workbook() -> None:
    table = read(SHARED)
    assert (table.rows_read, len(table.rows), table.count(REFUSED)) == (1238, 3857, 1)
    assert sum(row["status"] == "off" for row in table.rows) == 61
