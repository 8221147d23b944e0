"""Elevation files: reading GeoTIFFs, and faults of one clear line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from planner.errors import InputFaults
from planner.intake.elevation import read_elevation
from planner.intake.tour import load_tour
from planner.records.elevation import ElevationGrid
from tests.unit.geotiffs import KEYS, write_geotiff
from tests.unit.tour_files import NEED, OMAHA, TOUR_HEAD, write_tour

if TYPE_CHECKING:
    from pathlib import Path

RAMP = np.arange(12, dtype=np.float32).reshape(3, 4) * 10.0
PLACE: dict[str, Any] = {"west_deg": -96.0, "north_deg": 42.0, "step_deg": 0.5}


@pytest.mark.parametrize("kind", ["float32", "int16", "uint16", "int32"])
@pytest.mark.parametrize("compression", [None, "tiff_lzw", "tiff_adobe_deflate"])
def test_heights_of_every_kind_are_read(tmp_path: Path, kind: str, compression: str | None) -> None:
    cells = (RAMP - 50.0 * (kind != "uint16")).astype(kind)
    tags = {}
    if kind == "int16":
        cells, tags = cells.view(np.uint16), {339: 2}  # said to be signed, as most such files are
    path = write_geotiff(tmp_path / "a.tif", cells, tags=tags, compression=compression, **PLACE)
    grid = read_elevation(path)
    assert grid.heights_m.tolist() == (RAMP - 50.0 * (kind != "uint16")).tolist()
    assert (grid.north_deg, grid.west_deg) == (41.75, -95.75)
    assert not grid.heights_m.flags.writeable


def test_cells_as_points_have_their_centre_at_the_tie_point(tmp_path: Path) -> None:
    path = write_geotiff(tmp_path / "a.tif", RAMP, keys={**KEYS, 1025: 2}, **PLACE)
    grid = read_elevation(path)
    assert (grid.north_deg, grid.west_deg) == (42.0, -96.0)


def test_a_matrix_serves_as_well(tmp_path: Path) -> None:
    matrix = (0.5, 0.0, 0.0, -96.0, 0.0, -0.5, 0.0, 42.0, *[0.0] * 7, 1.0)
    tags = {33550: None, 33922: None, 34264: matrix}
    path = write_geotiff(tmp_path / "a.tif", RAMP, tags=tags, **PLACE)
    assert (read_elevation(path).north_deg, read_elevation(path).west_deg) == (41.75, -95.75)


def test_missing_and_impossible_heights_are_missing(tmp_path: Path) -> None:
    cells = np.array([[1.0, -32768.0], [-9999.0, 50000.0], [7.0, np.nan]], dtype=np.float32)
    cells[0, 0] = 77.0
    path = write_geotiff(tmp_path / "a.tif", cells, tags={42113: "77"}, **PLACE)
    missing = np.isnan(read_elevation(path).heights_m)
    assert missing.tolist() == [[True, True], [True, True], [False, True]]


def grid(**more: Any) -> ElevationGrid:
    values: dict[str, Any] = {
        "file": "a.tif",
        "north_deg": 1.0,
        "west_deg": 179.0,
        "step_lat_deg": 1.0,
        "step_lon_deg": 1.0,
        "heights_m": RAMP,
    }
    return ElevationGrid(**{**values, **more})


@pytest.mark.parametrize(
    ("lat_deg", "lon_deg", "expected_m"),
    [
        (1.0, 179.0, 0.0),
        (0.0, 180.0, 50.0),
        (0.5, 179.5, 25.0),
        (0.25, -179.5, 45.0),  # over the 180-degree meridian
        (1.4, 178.6, 0.0),  # within the outer half of a cell
        (1.6, 179.0, np.nan),
        (1.0, 178.4, np.nan),
        (-1.0, -178.0, 110.0),
        (-1.0, -177.4, np.nan),
    ],
)
def test_ground_between_the_centres(lat_deg: float, lon_deg: float, expected_m: float) -> None:
    found = grid().at(np.array([lat_deg]), np.array([lon_deg]))
    np.testing.assert_allclose(found, [expected_m], rtol=0, atol=1e-3, equal_nan=True)  # m, float32


def test_a_grid_needs_cells_and_steps() -> None:
    with pytest.raises(ValueError, match="rows and columns"):
        grid(heights_m=np.zeros(3, dtype=np.float32))
    with pytest.raises(ValueError, match="steps of 0"):
        grid(step_lat_deg=0.0)


FAULTS: list[tuple[dict[str, Any], str]] = [
    ({"keys": {}}, "got a TIFF without the keys of a GeoTIFF"),
    ({"keys": {1024: 1, 3072: 32630}}, "got no degrees; allowed: degrees of WGS84"),
    ({"keys": {**KEYS, 2048: 4277}}, "got degrees of EPSG:4277"),
    ({"keys": {**KEYS, 4099: 9002}}, "got heights in unit 9002 of EPSG; allowed: metres"),
    ({"tags": {33922: None}}, "got no place of the first cell"),
    ({"tags": {33550: (0.5, -0.5, 0.0)}}, "got a grid that is turned or upside down"),
    ({"north_deg": 5_700_000.0}, "allowed: latitude and longitude in degrees"),
    ({"tags": {42113: "none"}}, "got missing value 'none'; allowed: a number"),
    ({"heights": np.full((3, 4), -9999.0, dtype=np.float32)}, "got not one height"),
    ({"heights": np.zeros((3, 4), dtype=np.uint8)}, "got cells of kind L"),
    ({"heights": np.zeros((3, 4, 3), dtype=np.uint8)}, "got cells of kind RGB"),
]


@pytest.mark.parametrize(("more", "expected"), FAULTS)
def test_an_unfit_file_is_one_fault(tmp_path: Path, more: dict[str, Any], expected: str) -> None:
    values = {"heights": RAMP, **PLACE, **more}
    path = write_geotiff(tmp_path / "a.tif", values.pop("heights"), **values)
    with pytest.raises(InputFaults) as caught:
        read_elevation(path, name="a.tif")
    (fault,) = caught.value.faults
    assert fault.line().startswith("a.tif; got ")
    assert expected in fault.line()
    assert "EPSG:4326, one band" in fault.line()


def test_a_file_too_large_is_refused_before_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("planner.intake.elevation.MOST_CELLS", 11)
    path = write_geotiff(tmp_path / "a.tif", RAMP, **PLACE)
    with pytest.raises(InputFaults, match="got 4 x 3 cells; allowed: at most 100 million"):
        read_elevation(path)


def test_no_tiff_no_file_a_file_cut_short(tmp_path: Path) -> None:
    (tmp_path / "a.tif").write_text("no image", encoding="utf-8")
    with pytest.raises(InputFaults, match="got a file that is not read as a TIFF"):
        read_elevation(tmp_path / "a.tif")
    with pytest.raises(InputFaults, match="got no such file"):
        read_elevation(tmp_path / "b.tif")
    path = write_geotiff(tmp_path / "c.tif", RAMP, **PLACE)
    path.write_bytes(path.read_bytes()[:-30])
    with pytest.raises(InputFaults, match="got a file that is not read as a TIFF"):
        read_elevation(path)


def test_a_tour_names_one_or_several(tmp_path: Path) -> None:
    write_geotiff(tmp_path / "a.tif", RAMP, **PLACE)
    write_geotiff(tmp_path / "b.tif", RAMP, **PLACE)
    for written, files in (('"a.tif"', ["a.tif"]), ('["a.tif", "b.tif"]', ["a.tif", "b.tif"])):
        head = f"{TOUR_HEAD}elevation = {written}\n"
        loaded = load_tour(write_tour(tmp_path, head + OMAHA + NEED))
        assert [one.file for one in loaded.stations.grids] == files
        assert [row.file for row in loaded.inputs][-len(files) :] == files
        assert all(len(row.sha256) == 64 for row in loaded.inputs)
    head = f'{TOUR_HEAD}elevation = "c.tif"\n'
    with pytest.raises(InputFaults, match=r"c\.tif; got no such file; allowed: a GeoTIFF"):
        load_tour(write_tour(tmp_path, head + OMAHA + NEED))
