"""The strict reader of station tables and their coverage sidecars."""

from __future__ import annotations

import csv
import datetime as dt
from typing import TYPE_CHECKING

import numpy as np
import pytest

from planner.errors import InputFaults
from planner.intake.stations import load_station_tables
from planner.intake.stations.columns import COLUMNS, station_table_text
from planner.intake.stations.coverage import (
    coverage_path,
    coverage_text,
    find_coverage,
    read_coverage,
)
from planner.records import Coverage

if TYPE_CHECKING:
    from pathlib import Path

GOOD = {
    "station_id": "a",
    "country": "US",
    "channel": "21",
    "lat_deg": "41.25",
    "lon_deg": "-95.93",
    "erp_kw": "850",
}
SIDECAR = """\
countries = ["US"]
services = ["full", "class-a"]
systems = ["atsc1"]
low_mhz = 54
high_mhz = 608
issued = 2026-10-01
missing_note = "no low-power stations"
"""


def save(folder: Path, *rows: dict[str, str], name: str = "us.csv") -> Path:
    path = folder / name
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, COLUMNS)
        writer.writeheader()
        writer.writerows({**GOOD, **row} for row in rows)
    return path


def faults_of(path: Path, *more: Path) -> list[str]:
    with pytest.raises(InputFaults, match=r"\.csv") as caught:
        load_station_tables([path, *more], names={path: path.name, **{p: p.name for p in more}})
    return [fault.line() for fault in caught.value.faults]


def test_a_plain_row_becomes_columns(tmp_path: Path) -> None:
    table = load_station_tables([save(tmp_path, {})])
    assert len(table) == 1
    assert (table.low_hz[0], table.high_hz[0]) == (512_000_000, 518_000_000)
    assert table.channel[0] == "21"
    assert table.status[0] == "on-air"
    assert table.service[0] == "full"
    assert np.isnan([table.haat_m[0], table.antenna_amsl_m[0], table.site_amsl_m[0]]).all()
    assert table.pattern_rotation_deg[0] == 0.0
    assert np.isnat(table.valid_from[0])
    assert np.isnat(table.valid_to[0])
    assert table.coverages == (Coverage(partial=True),)
    assert not table.erp_kw.flags.writeable


def test_every_field_of_a_full_row_arrives(tmp_path: Path) -> None:
    row = {
        "name": "Alder Hill",
        "country": "PR",
        "service": "class-a",
        "system": "atsc3",
        "low_mhz": "512",
        "high_mhz": "518.000000",
        "haat_m": "-12.5",
        "antenna_amsl_m": "400",
        "height_agl_m": "120",
        "site_amsl_m": "0",
        "polarization": "circular",
        "pattern": "p1",
        "pattern_rotation_deg": "45",
        "emission_mask": "stringent",
        "group_id": "g",
        "status": "permit",
        "valid_from": "2027-01-01",
        "valid_to": "2027-12-31",
        "location_error_m": "25",
    }
    table = load_station_tables([save(tmp_path, row)])
    assert table.country[0] == "US"
    for name in ("name", "service", "system", "polarization", "pattern", "emission_mask", "status"):
        assert getattr(table, name)[0] == row[name]
    assert table.haat_m[0] == -12.5
    assert table.site_amsl_m[0] == 0.0
    assert table.height_agl_m[0] == 120.0
    assert table.pattern_rotation_deg[0] == 45.0
    assert table.valid_from[0] == np.datetime64("2027-01-01")
    assert table.valid_to[0] == np.datetime64("2027-12-31")


def test_a_row_with_three_faults_gives_three_lines(tmp_path: Path) -> None:
    path = save(tmp_path, {}, {"station_id": "b", "lat_deg": "95", "erp_kw": "-5", "channel": "37"})
    assert faults_of(path) == [
        (
            "us.csv: row 3, column channel; got 37; allowed: channels 2 to 36 of US; 608-614 MHz "
            "is radio astronomy and medical telemetry; never TV, never microphones"
        ),
        "us.csv: row 3, column lat_deg; got 95; allowed: a number from -90 to 90 deg",
        "us.csv: row 3, column erp_kw; got -5; allowed: a number above 0 and up to 5000 kW",
    ]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"station_id": ""}, "column station_id; got an empty cell; allowed: not empty"),
        ({"country": ""}, "column country; got an empty cell; allowed: not empty"),
        ({"country": "UK"}, "column country; got UK; allowed: an ISO 3166 code"),
        ({"country": "us"}, "did you mean US?"),
        ({"lat_deg": "-90.5"}, "column lat_deg; got -90.5; allowed: a number from -90 to 90 deg"),
        ({"lon_deg": "180.5"}, "got 180.5; allowed: a number from -180 to 180 deg"),
        ({"lon_deg": "-95,93"}, "write a decimal point: -95.93"),
        ({"erp_kw": "0"}, "column erp_kw; got 0; allowed: a number above 0"),
        ({"erp_kw": "5001"}, "got 5001; allowed: a number above 0 and up to 5000 kW"),
        ({"erp_kw": ""}, "column erp_kw; got an empty cell"),
        ({"erp_kw": "10 kW"}, "write figures only, without a unit"),
        ({"haat_m": "9000"}, "column haat_m; got 9000"),
        ({"haat_m": "0"}, "column haat_m; got 0; allowed: a number from -1500 to 5000 m, but not"),
        ({"height_agl_m": "0"}, "column height_agl_m; got 0; allowed: a number above 0"),
        ({"channel": "99"}, "got 99; allowed: channels 2 to 36 of US"),
        ({"channel": "21.1"}, "got 21.1; allowed: channels 2 to 36 of US"),
        ({"channel": ""}, "got no channel and no limits"),
        ({"channel": "", "low_mhz": "512"}, "column high_mhz; got an empty cell"),
        (
            {"channel": "", "low_mhz": "518", "high_mhz": "512"},
            "column low_mhz; got 518, high_mhz 512; allowed: low_mhz below high_mhz",
        ),
        (
            {"channel": "", "low_mhz": "518", "high_mhz": "518.0"},
            "column low_mhz; got 518, high_mhz 518; allowed: low_mhz below high_mhz",
        ),
        (
            {"channel": "", "low_mhz": "608", "high_mhz": "614"},
            "got 608 to 614 MHz; allowed: outside channel 37",
        ),
        (
            {"low_mhz": "518", "high_mhz": "524"},
            "got 21 with 518 to 524 MHz; allowed: 512 to 518 MHz",
        ),
        ({"country": "IN"}, "no channel raster of IN: fill in both limits in MHz"),
        ({"service": "fulll"}, 'did you mean "full"?'),
        ({"system": "atsc"}, "column system; got atsc; allowed: atsc1 / atsc3 / dvb-t"),
        ({"status": "on air"}, 'did you mean "on-air"?'),
        ({"emission_mask": "soft"}, "allowed: full / stringent / simple / critical / uncritical"),
        ({"polarization": "H"}, "allowed: horizontal / vertical / circular"),
        ({"pattern_rotation_deg": "361"}, "allowed: a number from 0 to 360 deg"),
        ({"valid_from": "2027-13-01"}, "no such day in the calendar"),
        (
            {"valid_from": "2027-02-01", "valid_to": "2027-01-01"},
            "column valid_from; got 2027-02-01; allowed: not after valid_to 2027-01-01",
        ),
        ({"location_error_m": "-1"}, "column location_error_m; got -1"),
        ({"shared_with": "nobody"}, "column shared_with; got nobody"),
    ],
)
def test_each_fault_is_one_line_with_row_and_column(
    tmp_path: Path, row: dict[str, str], said: str
) -> None:
    lines = faults_of(save(tmp_path, {"station_id": "first"}, row))
    assert len(lines) == 1
    assert lines[0].startswith("us.csv: row 3, column ")
    assert said in lines[0]


def test_a_station_that_is_off_may_stand_outside_todays_raster(tmp_path: Path) -> None:
    off = {"channel": "", "low_mhz": "608", "high_mhz": "614", "status": "off"}
    assert len(load_station_tables([save(tmp_path, off)])) == 1


def test_another_country_is_given_by_its_limits(tmp_path: Path) -> None:
    row = {"country": "GB", "channel": "", "low_mhz": "470", "high_mhz": "478", "system": "dvb-t2"}
    table = load_station_tables([save(tmp_path, row, {**row, "station_id": "b", "channel": "21"})])
    assert table.low_hz.tolist() == [470_000_000, 470_000_000]
    assert table.channel.tolist() == ["", "21"]
    assert table.country.tolist() == ["GB", "GB"]


@pytest.mark.parametrize(
    ("row", "service"),
    [
        ({}, "full"),
        ({"system": "dab"}, "other"),
        ({"channel": "", "low_mhz": "470", "high_mhz": "476"}, "full"),
        ({"channel": "", "low_mhz": "470", "high_mhz": "470.0125"}, "other"),
        ({"channel": "", "low_mhz": "470", "high_mhz": "470.0125", "system": "atsc1"}, "full"),
        ({"service": "booster"}, "booster"),
    ],
)
def test_a_service_left_out_is_taken_on_the_safe_side(
    tmp_path: Path, row: dict[str, str], service: str
) -> None:
    assert load_station_tables([save(tmp_path, row)]).service[0] == service


def test_ids_are_unique_in_a_table_and_between_tables(tmp_path: Path) -> None:
    one = save(tmp_path, {}, {"station_id": "b"}, {})
    assert faults_of(one) == [
        (
            "us.csv: row 4, column station_id; got a; allowed: an id that no other row has; row 2 "
            "has it; give each transmitting antenna its own id"
        )
    ]
    one = save(tmp_path, {})
    two = save(tmp_path, {"station_id": "b"}, {}, name="ca.csv")
    lines = faults_of(one, two)
    assert len(lines) == 1
    assert "ca.csv: row 3, column station_id; got a" in lines[0]
    assert "us.csv row 2 has it" in lines[0]


def test_faults_of_all_tables_and_sidecars_come_at_once(tmp_path: Path) -> None:
    one = save(tmp_path, {"lat_deg": "95"})
    two = save(tmp_path, {"station_id": "b", "erp_kw": "-1"}, name="ca.csv")
    coverage_path(two).write_text("countries = []\n", encoding="utf-8")
    lines = faults_of(one, two, tmp_path / "gone.csv")
    assert sum(line.startswith("us.csv: row 2, column lat_deg") for line in lines) == 1
    assert sum(line.startswith("ca.csv: row 2, column erp_kw") for line in lines) == 1
    assert sum(line.startswith("ca.csv.coverage.toml") for line in lines) == 4
    assert sum(line.startswith("gone.csv; got no such file") for line in lines) == 1
    assert len(lines) == 7


def test_several_tables_are_numbered_in_order(tmp_path: Path) -> None:
    one = save(tmp_path, {}, {"station_id": "b"})
    two = save(tmp_path, {"station_id": "c"}, name="ca.csv")
    coverage_path(two).write_text(SIDECAR, encoding="utf-8")
    table = load_station_tables([one, two], names={one: "us.csv", two: "ca.csv"})
    assert table.station_id.tolist() == ["a", "b", "c"]
    assert table.table.tolist() == [0, 0, 1]
    assert table.files == ("us.csv", "ca.csv")
    assert [coverage.partial for coverage in table.coverages] == [True, False]


def test_sites_of_one_group_share_a_channel(tmp_path: Path) -> None:
    site = {"station_id": "b", "channel": "22", "group_id": "g"}
    lines = faults_of(save(tmp_path, {"group_id": "g"}, site))
    assert "row 3, column group_id; got g on 518 MHz; allowed: one channel a group" in lines[0]
    path = save(tmp_path, {"group_id": "g"}, {**site, "status": "off"})
    assert len(load_station_tables([path])) == 2


@pytest.mark.parametrize(
    ("host", "said"),
    [
        ({"channel": "22"}, "row 2 is on another channel"),
        ({"status": "off"}, "row 2 is off"),
        ({"shared_with": "b"}, "row 3 is a guest itself"),
    ],
)
def test_a_guest_is_uncounted_only_when_its_host_counts(
    tmp_path: Path, host: dict[str, str], said: str
) -> None:
    guest = {"station_id": "b", "shared_with": "a"}
    assert load_station_tables([save(tmp_path, {}, guest)]).shared_with.tolist() == ["", "a"]
    assert any(said in line for line in faults_of(save(tmp_path, host, guest)))
    assert "its own guest" in faults_of(save(tmp_path, {"shared_with": "a"}))[0]


def test_a_table_without_a_station_is_a_fault(tmp_path: Path) -> None:
    lines = faults_of(save(tmp_path))
    assert lines == [
        (
            "us.csv; got a header and no row; allowed: a station table with at least one station; "
            "a station table without a station is a fault"
        )
    ]


def test_missing_columns_are_named_once(tmp_path: Path) -> None:
    path = tmp_path / "us.csv"
    path.write_text("station_id,country,lat,lon_deg,erp_kw\na,US,1,2,3\n", encoding="utf-8")
    assert faults_of(path) == [
        (
            "us.csv: row 1; got no column lat_deg; allowed: a column named lat_deg; rename column "
            '"lat"?'
        ),
        (
            "us.csv: row 1; got no column channel and no columns low_mhz and high_mhz; allowed: a "
            "column channel, or both low_mhz and high_mhz; add one or the other"
        ),
    ]


def test_another_kind_of_table_points_to_the_importers(tmp_path: Path) -> None:
    path = tmp_path / "us.csv"
    path.write_text("FacID,Call,Lat,Lon\n1,WAAA,1,2\n", encoding="utf-8")
    lines = faults_of(path)
    assert len(lines) == 1
    assert "a regulator's table goes through passband stations --from FORMAT first" in lines[0]


def test_unknown_columns_are_ignored(tmp_path: Path) -> None:
    path = save(tmp_path, {})
    text = path.read_text(encoding="utf-8").splitlines()
    path.write_text(f"{text[0]},remark\n{text[1]},mine\n", encoding="utf-8")
    assert len(load_station_tables([path])) == 1


def test_the_writer_keeps_the_contract_order_and_neutralises_formulas() -> None:
    text = station_table_text([{**GOOD, "name": "=cmd()", "mine": "x"}], extra=("mine",))
    header, row = text.splitlines()
    assert header == ",".join((*COLUMNS, "mine"))
    assert row.startswith("a,'=cmd(),US,")
    assert ",-95.93," in row


def test_a_sidecar_is_read(tmp_path: Path) -> None:
    path = tmp_path / "us.csv.coverage.toml"
    path.write_text(SIDECAR, encoding="utf-8")
    coverage = read_coverage(path)
    assert coverage == Coverage(
        countries=("US",),
        services=("full", "class-a"),
        systems=("atsc1",),
        low_hz=54_000_000,
        high_hz=608_000_000,
        issued=dt.date(2026, 10, 1),
        missing_note="no low-power stations",
    )
    assert find_coverage(tmp_path / "us.csv") == path
    assert find_coverage(tmp_path / "ca.csv") is None
    (tmp_path / "ca.coverage.toml").write_text(SIDECAR, encoding="utf-8")
    assert find_coverage(tmp_path / "ca.csv") == tmp_path / "ca.coverage.toml"
    path.write_text(coverage_text(coverage), encoding="utf-8")
    assert read_coverage(path) == coverage


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "countries",
            "countrys",
            'countrys; got an unknown key; allowed: countries, .*"countries"',
        ),
        ('"full"', '"ful"', 'services; got ful; .*did you mean "full"'),
        ('"atsc1"', '"atsc"', "systems; got atsc"),
        ('"US"', '"UK"', "countries; got UK; .*did you mean GB"),
        ('["US"]', '"US"', "countries; got US; allowed: a list of words"),
        ('["US"]', "[]", "countries; got an empty list"),
        ("low_mhz = 54", "low_mhz = 700", "low_mhz; got 700, high_mhz 608"),
        ("low_mhz = 54", "low_mhz = nan", "low_mhz; got NaN; allowed: a number from 1 to 10000"),
        ("low_mhz = 54", "low_mhz = 54.0000001", "at most six decimals"),
        ("low_mhz = 54", 'low_mhz = "54"', "low_mhz; got 54; allowed: a number"),
        ("low_mhz = 54\n", "", "got no key low_mhz"),
        ("2026-10-01", '"2026-10-01"', "issued; got 2026-10-01; allowed: a date without quotes"),
        ("2026-10-01", "2026-10-01T08:00:00", "issued; got 2026-10-01 08:00:00"),
        ('"no low-power stations"', "12", "missing_note; got 12; allowed: a text in quotes"),
        ("high_mhz = 608", "high_mhz 608", "row 5; got broken TOML: Expected '='"),
    ],
)
def test_a_sidecar_at_fault(tmp_path: Path, old: str, new: str, said: str) -> None:
    path = tmp_path / "us.csv.coverage.toml"
    path.write_text(SIDECAR.replace(old, new), encoding="utf-8")
    with pytest.raises(InputFaults, match=said):
        read_coverage(path, name="us.csv.coverage.toml")


def test_a_sidecar_text_with_quotes_and_control_characters_comes_back(tmp_path: Path) -> None:
    coverage = Coverage(
        countries=("US",),
        services=("full",),
        low_hz=54_012_500,
        high_hz=608_000_000,
        missing_note='a "b" \\ c\n\td\x00 é 𝄞',
    )
    path = tmp_path / "x.coverage.toml"
    path.write_text(coverage_text(coverage), encoding="utf-8")
    assert read_coverage(path) == coverage
