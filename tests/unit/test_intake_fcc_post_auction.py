"""The tolerant reader of the post-auction table, on an invented sample of its format."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.errors import InputFaults
from planner.intake.stations.coordinates import in_united_states, packed_degrees
from planner.intake.stations.fcc_post_auction import read
from planner.intake.stations.importers import (
    COMING_FORMATS,
    NOTED,
    REFUSED,
    REPAIRED,
    ImportedTable,
    importer,
)

SAMPLE = Path(__file__).parent / "data" / "post_auction_sample.csv"
HEADER = "FacID,Site,Call,Ch,PC,City,St,Lat,Lon,RCAMSL,HAAT,ERP,DA,AntID,Az"
ROW = "900001,,WAAA,21,40,ALDERTON,NE,411530,955604,640,380,850,ND,,"


@pytest.fixture(scope="module")
def sample() -> ImportedTable:
    return read(SAMPLE)


def row(table: ImportedTable, station_id: str) -> dict[str, str]:
    (found,) = [dict(cells) for cells in table.rows if cells["station_id"] == station_id]
    return found


def remarked(table: ImportedTable, action: str) -> dict[int, str]:
    return {remark.row_number: remark.kind for remark in table.remarks if remark.action == action}


def read_text(folder: Path, text: str, encoding: str = "utf-8") -> ImportedTable:
    path = folder / "table.csv"
    path.write_bytes(text.encode(encoding))
    return read(path)


def test_each_usable_row_is_a_transmitter_in_the_files_order(sample: ImportedTable) -> None:
    assert sample.rows_read == 17
    assert [cells["station_id"] for cells in sample.rows] == [
        "us-900001",
        "us-900002",
        "us-900003-1",
        "us-900003-2",
        "us-900003-3",
        "us-900004",
        "us-900005",
        "us-900006",
        "us-900001-x2",
        "us-900007",
        "us-900009",
        "us-900011",
        "us-900012",
    ]


def test_a_full_power_row(sample: ImportedTable) -> None:
    assert row(sample, "us-900001") == {
        "station_id": "us-900001",
        "name": "WAAA-TV",
        "country": "US",
        "service": "full",
        "system": "atsc1",
        "channel": "21",
        "lat_deg": "41.258333",
        "lon_deg": "-95.934444",
        "erp_kw": "850",
        "haat_m": "380",
        "antenna_amsl_m": "640.5",
        "emission_mask": "full",
        "status": "on-air",
        "source": "FCC post-auction table 2017, row 2",
    }


def test_class_a_with_unknown_height_and_seconds_of_sixty(sample: ImportedTable) -> None:
    cells = row(sample, "us-900002")
    assert (cells["service"], cells["emission_mask"]) == ("class-a", "")
    assert "haat_m" not in cells
    # 40 deg 48' 60" is 40 deg 49'; 96 deg 42' 60" is 96 deg 43'.
    assert (cells["lat_deg"], cells["lon_deg"]) == ("40.816667", "-96.716667")
    assert (cells["pattern"], cells["pattern_rotation_deg"]) == ("us-900002", "45")
    assert cells["source"].endswith("HAAT unknown; antenna 70001")


@pytest.mark.parametrize(
    ("call", "service"),
    [
        ("WAAA", "full"),
        ("WAAA-DT", "full"),
        ("KAAA-TV", "full"),
        ("KAAA-CD", "class-a"),
        ("KAAA-CA", "class-a"),
        ("KAAA-LP", "class-a"),
        ("KAAA-LD", "class-a"),
        ("K21ZZ-D", "class-a"),
        ("W50ZZ", "class-a"),
    ],
)
def test_the_class_is_read_from_the_call_sign(tmp_path: Path, call: str, service: str) -> None:
    table = read_text(tmp_path, f"{HEADER}\n{ROW.replace('WAAA', call)}\n")
    assert table.rows[0]["service"] == service


def test_sites_of_one_station_are_kept_apart_and_grouped(sample: ImportedTable) -> None:
    sites = [row(sample, f"us-900003-{site}") for site in (1, 2, 3)]
    assert {cells["group_id"] for cells in sites} == {"us-900003"}
    assert sites[0]["lat_deg"] == sites[1]["lat_deg"]
    assert [cells["erp_kw"] for cells in sites] == ["111", "1.34", "0.5"]
    assert [cells.get("pattern", "") for cells in sites] == ["us-900003-1", "us-900003-2", ""]
    assert [cells["status"] for cells in sites] == ["on-air"] * 3
    assert sites[2]["haat_m"] == "-187.5"
    assert "group_id" not in row(sample, "us-900001")


def test_rows_that_differ_in_rotation_alone_are_two_transmitters(tmp_path: Path) -> None:
    sites = [ROW.replace("ND,,", f"DA,7,{azimuth}") for azimuth in (0, 90)]
    table = read_text(tmp_path, "\n".join([HEADER, *sites, sites[1]]) + "\n")
    assert [cells["status"] for cells in table.rows] == ["on-air", "on-air", "off"]
    assert [cells["pattern_rotation_deg"] for cells in table.rows] == ["0", "90", "90"]


@pytest.mark.parametrize(
    ("sites", "groups"),
    [
        ([("1", "21")], [""]),
        ([("1", "21"), ("2", "21")], ["us-900001"] * 2),
        ([("1", "21"), ("2", "22")], ["", ""]),
        (
            [("1", "21"), ("2", "21"), ("3", "22"), ("4", "22")],
            ["us-900001-ch21"] * 2 + ["us-900001-ch22"] * 2,
        ),
        ([("", "21"), ("", "21")], ["", ""]),
    ],
)
def test_a_group_is_two_sites_or_more_on_one_channel(
    tmp_path: Path, sites: list[tuple[str, str]], groups: list[str]
) -> None:
    rows = [
        ROW.replace("900001,,", f"900001,{site},").replace(",21,", f",{channel},")
        for site, channel in sites
    ]
    table = read_text(tmp_path, "\n".join([HEADER, *rows]) + "\n")
    assert [cells.get("group_id", "") for cells in table.rows] == groups


def test_guam_is_east_and_puerto_rico_counts_as_us(sample: ImportedTable) -> None:
    guam, island = row(sample, "us-900004"), row(sample, "us-900005")
    assert (guam["lat_deg"], guam["lon_deg"]) == ("13.432778", "145.287500")
    assert (island["lat_deg"], island["lon_deg"]) == ("18.433333", "-66.116667")
    assert guam["country"] == island["country"] == "US"


def test_rows_off_the_raster_and_repeated_rows_are_kept_but_off(sample: ImportedTable) -> None:
    old, scope = row(sample, "us-900006"), row(sample, "us-900009")
    assert (old["low_mhz"], old["high_mhz"], old["status"]) == ("656", "662", "off")
    assert (scope["low_mhz"], scope["high_mhz"], scope["status"]) == ("608", "614", "off")
    assert "channel" not in old
    assert "off: channel 45 is not a TV channel today" in old["source"]
    repeat = row(sample, "us-900001-x2")
    assert repeat["status"] == "off"
    assert repeat["source"].endswith("row 10; off: repeats row 2")


def test_an_erp_of_zero_is_taken_as_dbk_and_flagged(sample: ImportedTable) -> None:
    cells = row(sample, "us-900007")
    assert cells["erp_kw"] == "1"
    assert "ERP 0 taken as dBk = 1 kW" in cells["source"]


def test_what_was_repaired_refused_and_noted(sample: ImportedTable) -> None:
    assert remarked(sample, REPAIRED) == {
        9: "off-raster",
        10: "repeated",
        11: "erp-as-dbk",
        13: "off-raster",
        15: "pattern-dropped",
        16: "height-dropped",
    }
    assert remarked(sample, REFUSED) == {
        12: "bad-Lat",
        14: "bad-ERP",
        17: "bad-Lat",
        18: "broken-row",
    }
    assert set(remarked(sample, NOTED)) == {3, 8}
    assert sample.count(REFUSED) == 4
    assert [remark.row_number for remark in sample.remarks] == sorted(
        remark.row_number for remark in sample.remarks
    )
    dropped = row(sample, "us-900011")
    assert "pattern" not in dropped
    assert "haat_m" not in row(sample, "us-900012")
    assert "antenna_amsl_m" not in row(sample, "us-900012")


def test_coverage_says_what_the_table_lacks(sample: ImportedTable) -> None:
    coverage = sample.coverage
    assert coverage is not None
    assert coverage.countries == ("US",)
    assert coverage.services == ("full", "class-a")
    assert (coverage.low_hz, coverage.high_hz) == (54_000_000, 608_000_000)
    assert str(coverage.issued) == "2017-04-13"
    assert "No low-power stations" in coverage.missing_note
    assert "Canada or Mexico" in coverage.missing_note


def test_byte_order_mark_windows_lines_and_windows_1252_are_read(tmp_path: Path) -> None:
    text = f"{HEADER}\n{ROW.replace('ALDERTON', 'ALDÉRTON')}\n".replace("\n", "\r\n")
    assert read_text(tmp_path, text, "utf-8-sig").rows == read_text(tmp_path, text, "cp1252").rows


def test_erp_in_dbk_and_above_the_limit(tmp_path: Path) -> None:
    table = read_text(tmp_path, f"{HEADER}\n{ROW.replace(',850,', ',-10,')}\n")
    assert table.rows[0]["erp_kw"] == "0.1"
    table = read_text(tmp_path, f"{HEADER}\n{ROW.replace(',850,', ',850000,')}\n")
    assert table.rows[0]["erp_kw"] == "5000"
    assert remarked(table, REPAIRED) == {2: "erp-too-high"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "an empty file"),
        ("a,b\n1,2\n", "not a post-auction table: check the file and --from"),
        (f"{HEADER.replace('FacID', 'FacilityID')}\n{ROW}\n", "row 1; got no column FacID"),
        (f"{HEADER}\n", "got a header and no row"),
        (f"{HEADER}\n{ROW.replace('411530', 'x')}\n", "got 1 row, none usable"),
        (f"{HEADER}\n{ROW.replace('411530', 'x')}\n", "row 2, column Lat; got x"),
        (
            f"{HEADER}\n{ROW.replace(',21,', ',84,')}\n",
            "row 2, column Ch; got 84; allowed: a whole",
        ),
        (f"{HEADER}\n{ROW.replace('411530', '611530')}\n", "a point in the United States or its"),
        (f"{HEADER}\n{ROW.replace('900001', '0')}\n", "row 2, column FacID; got 0"),
    ],
)
def test_a_file_without_a_usable_row_is_a_fault(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputFaults, match=said):
        read_text(tmp_path, text)


@pytest.mark.parametrize(
    ("text", "degrees", "full_minute"),
    [
        ("411530", 41 + 15 / 60 + 30 / 3600, False),
        ("0955604", 95 + 56 / 60 + 4 / 3600, False),
        ("-1451014", -(145 + 10 / 60 + 14 / 3600), False),
        ("404860", 40 + 49 / 60, True),
        ("405960", 41.0, True),
        ("412030.5", 41 + 20 / 60 + 30.5 / 3600, False),
    ],
)
def test_packed_degrees(text: str, degrees: float, *, full_minute: bool) -> None:
    packed = packed_degrees(text)
    assert packed is not None
    # One millionth of a second of arc: rounding of the sum, nothing else.
    assert packed.degrees == pytest.approx(degrees, abs=1e-6 / 3600)
    assert packed.full_minute is full_minute


@pytest.mark.parametrize("text", ["", "4115", "416000", "411561", "41 15 30", "x", "41153O", "1e5"])
def test_packed_degrees_refuses(text: str) -> None:
    assert packed_degrees(text) is None


def test_boxes_hold_each_part_and_not_the_sea() -> None:
    inside = [(40.7, -74.0), (61.2, -149.9), (52.9, 173.2), (21.3, -157.9), (18.4, -66.1)]
    inside += [(13.5, 144.8), (-14.3, -170.7)]
    assert all(in_united_states(lat, lon) for lat, lon in inside)
    assert not any(
        in_united_states(lat, lon) for lat, lon in [(4.2, -93.0), (13.5, -144.8), (0, 0)]
    )


def test_formats_to_come_are_known_and_refused() -> None:
    for name in COMING_FORMATS:
        with pytest.raises(InputFaults, match=f"got {name}; .*named for a later version"):
            importer(name)
    with pytest.raises(InputFaults, match='did you mean "fcc-post-auction"'):
        importer("fcc_post_auction")
    assert importer("fcc-post-auction").read(SAMPLE).rows_read == 17
