"""The FCC's post-auction table as published (2017), kept outside the repository.

Counts are those of the published file; class by call sign is checked against the service type
that the FCC's study input of October 2015 gives for the same facilities.
"""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from planner.intake.stations import load_station_tables
from planner.intake.stations.columns import station_table_text
from planner.intake.stations.coverage import coverage_path, coverage_text
from planner.intake.stations.fcc_post_auction import read

if TYPE_CHECKING:
    from planner.intake.stations.importers import ImportedTable
    from planner.records import StationTable

FOLDER = Path(__file__).parents[3] / "shared" / "open-tv" / "us"
PUBLISHED = FOLDER / "post_auction_parameters.csv"
STUDY_2015 = FOLDER / "stations_2015.csv"

pytestmark = pytest.mark.skipif(
    not PUBLISHED.exists(), reason="the published table is not beside the repository"
)


@pytest.fixture(scope="module")
def imported() -> ImportedTable:
    return read(PUBLISHED)


@pytest.fixture(scope="module")
def table(imported: ImportedTable, tmp_path_factory: pytest.TempPathFactory) -> StationTable:
    path = tmp_path_factory.mktemp("us") / "us.csv"
    path.write_text(station_table_text(imported.rows), encoding="utf-8")
    assert imported.coverage is not None
    coverage_path(path).write_text(coverage_text(imported.coverage), encoding="utf-8")
    return load_station_tables([path])


def kinds(imported: ImportedTable) -> Counter[tuple[str, str]]:
    return Counter((remark.action, remark.kind) for remark in imported.remarks)


def test_every_row_is_a_transmitter_and_nothing_is_repaired(imported: ImportedTable) -> None:
    assert imported.rows_read == len(imported.rows) == 2074
    assert kinds(imported) == {("noted", "haat-unknown"): 376, ("noted", "seconds-of-60"): 32}


def test_the_table_reads_back_row_by_row(imported: ImportedTable, table: StationTable) -> None:
    assert table.station_id.tolist() == [row["station_id"] for row in imported.rows]
    assert len(set(table.station_id.tolist())) == 2074
    assert set(table.country.tolist()) == {"US"}
    assert set(table.status.tolist()) == {"on-air"}
    assert set(table.channel.tolist()) == {str(number) for number in range(2, 37)}
    assert table.erp_kw.min() == 0.008
    assert table.erp_kw.max() == 1000.0
    assert int((table.pattern != "").sum()) == 1347


def test_heights(table: StationTable) -> None:
    unknown = np.isnan(table.haat_m)
    assert int(unknown.sum()) == 376
    assert set(table.service[unknown].tolist()) == {"class-a"}
    assert int((table.haat_m < 0).sum()) == 7
    assert float(np.nanmin(table.haat_m)) == -363.0
    assert not np.isnan(table.antenna_amsl_m).any()


def test_sites_of_distributed_stations(table: StationTable) -> None:
    groups = Counter(group for group in table.group_id.tolist() if group)
    assert len(groups) == 15
    assert sum(groups.values()) == 39
    assert set(groups.values()) == {2, 3, 4, 5}
    two = [table.station_id.tolist().index(f"us-62442-{site}") for site in (2, 3)]
    assert len({(table.lat_deg[i], table.lon_deg[i]) for i in two}) == 1
    assert [float(table.erp_kw[i]) for i in two] == [0.251, 0.059]


def test_guam_lies_east_and_everything_else_west(table: StationTable) -> None:
    east = table.lon_deg > 0
    assert int(east.sum()) == 3
    # Hagatna, Guam, stands at about 13.48 N, 144.75 E; its stations within a degree.
    assert np.abs(table.lat_deg[east] - 13.48).max() < 1.0
    assert np.abs(table.lon_deg[east] - 144.75).max() < 1.0
    caribbean = (table.lat_deg < 18.6) & (table.lon_deg > -68)
    assert int((caribbean & ~east).sum()) == 43


def test_coordinates_against_the_study_of_2015(table: StationTable) -> None:
    """Within a second of arc on nearly all facilities that did not move."""
    if not STUDY_2015.exists():
        pytest.skip("the study input of 2015 is not beside the repository")
    study = study_2015()
    offsets = []
    for station, lat, lon, group in zip(
        table.station_id, table.lat_deg, table.lon_deg, table.group_id, strict=True
    ):
        row = study.get(station.removeprefix("us-"))
        if row is not None and not group:
            offsets.append(
                max(abs(lat - float(row["lat_deg"])), abs(lon - float(row["lon_deg"]))) * 3600
            )
    assert len(offsets) > 2000
    # Coordinates are rounded to a whole second: half a second, and a little for the study's own
    # rounding to a millionth of a degree.
    assert sum(offset <= 0.51 for offset in offsets) / len(offsets) > 0.97


def test_the_class_read_from_the_call_sign_against_the_study_of_2015(table: StationTable) -> None:
    if not STUDY_2015.exists():
        pytest.skip("the study input of 2015 is not beside the repository")
    study = study_2015()
    seen: Counter[tuple[str, bool]] = Counter()
    for station, service in zip(table.station_id, table.service, strict=True):
        row = study.get(station.removeprefix("us-").split("-")[0])
        if row is not None:
            # Types of the study input: 1 full digital, 3 and 4 Class A digital and analogue.
            seen[service, row["type"] in {"3", "4"}] += 1
    assert seen["full", True] == 0
    assert seen["class-a", False] == 0
    assert seen["full", False] == 1697
    assert seen["class-a", True] == 377


def study_2015() -> dict[str, dict[str, str]]:
    with STUDY_2015.open(encoding="utf-8", newline="") as stream:
        return {row["facility_id"]: row for row in csv.DictReader(stream)}
