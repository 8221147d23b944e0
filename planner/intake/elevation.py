"""Elevation files of the user: GeoTIFFs in degrees, read whole; strict, one line a fault."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.errors import Fault, InputFaults
from planner.records.elevation import ElevationGrid

if TYPE_CHECKING:
    from pathlib import Path

MOST_CELLS = 100_000_000
"""A larger file is refused: it would take more than 0.4 GB."""
LOWEST_M, HIGHEST_M = -500.0, 9000.0
"""Heights outside are taken as missing; the land of the Earth lies within."""
_SCALE, _TIE_POINT, _MATRIX, _GEO_KEYS, _NO_DATA = 33550, 33922, 34264, 34735, 42113
"""TIFF tags of GeoTIFF (OGC 19-008r4, annex B) and of the missing value (GDAL's, by custom)."""
_MODEL_TYPE, _RASTER_TYPE, _GEOGRAPHIC_TYPE, _VERTICAL_UNIT = 1024, 1025, 2048, 4099
_GEOGRAPHIC, _POINT, _METRE = 2, 2, 9001
_DATUMS = (4326, 4258, 4269, 4979)
"""EPSG codes in degrees that agree within a few metres: WGS84, ETRS89, NAD83, WGS84 with height."""
_MODES = ("I;16", "I;16B", "I", "F")
_ADVICE = "bring it to EPSG:4326, one band of 16- or 32-bit heights in metres above the sea"


class _UnfitError(ValueError):
    """What a file holds, and what is allowed instead."""

    def __init__(self, value: str, allowed: str) -> None:
        self.value, self.allowed = value, allowed
        super().__init__(f"{value}; {allowed}")


def read_elevation(path: Path, *, name: str = "") -> ElevationGrid:
    """Read a GeoTIFF of ground heights.

    Parameters
    ----------
    path : Path
        One band of 16- or 32-bit heights in metres above mean sea level, north up, in degrees of
        WGS84, ETRS89 or NAD83; not more than 100 million cells.
    name : str
        Its name in messages; ``path`` when empty.

    Returns
    -------
    ElevationGrid
        Cells with the file's missing value, and those outside -500 to 9000 m, are NaN.

    Raises
    ------
    InputFaults
        With one fault: no such file, or not such a file.

    References
    ----------
    OGC GeoTIFF Standard 19-008r4 (2019): tags, keys, cells as areas or points.
    """
    shown = name or str(path)
    from PIL import Image as images  # noqa: N813 - a module; only who brings a file pays for it

    try:
        heights, tags = _read(images, path)
        return _grid(heights, tags, shown)
    except _UnfitError as unfit:
        fault = Fault(file=shown, value=unfit.value, allowed=unfit.allowed, advice=_ADVICE)
    except FileNotFoundError:
        fault = Fault(
            file=shown,
            value="no such file",
            allowed="a GeoTIFF",
            advice="check the name; it counts from the folder of the tour file",
        )
    except (OSError, ValueError, SyntaxError, images.DecompressionBombError) as error:
        fault = Fault(
            file=shown,
            value=f"a file that is not read as a TIFF ({type(error).__name__})",
            allowed="a GeoTIFF of at most 100 million cells",
            advice=_ADVICE,
        )
    raise InputFaults([fault])


def _read(images: Any, path: Path) -> tuple[np.ndarray[Any, Any], dict[int, Any]]:  # noqa: ANN401
    """Return the cells and the tags."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", images.DecompressionBombWarning)  # our own limit is below
        with images.open(path, formats=("TIFF",)) as image:
            columns, rows = image.size
            if rows * columns > MOST_CELLS:
                raise _UnfitError(
                    f"{columns} x {rows} cells", "at most 100 million cells: cut it out"
                )
            if image.mode not in _MODES:
                raise _UnfitError(
                    f"cells of kind {image.mode}", "one band of 16- or 32-bit heights"
                )
            return np.asarray(image), dict(image.tag_v2)


def _grid(cells: np.ndarray[Any, Any], tags: dict[int, Any], name: str) -> ElevationGrid:
    keys = _geo_keys(tags)
    if keys.get(_MODEL_TYPE) != _GEOGRAPHIC or keys.get(_GEOGRAPHIC_TYPE) not in _DATUMS:
        code = keys.get(_GEOGRAPHIC_TYPE)
        came = f"degrees of EPSG:{code}" if keys.get(_MODEL_TYPE) == _GEOGRAPHIC else "no degrees"
        raise _UnfitError(
            came if keys else "a TIFF without the keys of a GeoTIFF",
            "degrees of WGS84 (EPSG:4326), ETRS89 (4258) or NAD83 (4269)",
        )
    if keys.get(_VERTICAL_UNIT, _METRE) != _METRE:
        raise _UnfitError(f"heights in unit {keys[_VERTICAL_UNIT]} of EPSG", "metres (9001)")
    west, north, step_lon, step_lat = _corner(tags)
    if keys.get(_RASTER_TYPE) != _POINT:
        west, north = west + 0.5 * step_lon, north - 0.5 * step_lat
    heights = cells.astype(np.float32)
    missing = _missing(tags)
    if missing is not None:
        heights[heights == np.float32(missing)] = np.nan
    heights[~((heights >= LOWEST_M) & (heights <= HIGHEST_M))] = np.nan
    if np.isnan(heights).all():
        raise _UnfitError("not one height", f"heights from {LOWEST_M:g} to {HIGHEST_M:g} m")
    return ElevationGrid(
        file=name,
        north_deg=north,
        west_deg=west,
        step_lat_deg=step_lat,
        step_lon_deg=step_lon,
        heights_m=heights,
    )


def _geo_keys(tags: dict[int, Any]) -> dict[int, int]:
    """Return the short values of the key directory: four numbers a key, after a head of four."""
    numbers = [int(number) for number in tags.get(_GEO_KEYS, ())]
    entries = [numbers[start : start + 4] for start in range(4, len(numbers) - 3, 4)]
    return {key: value for key, where, count, value in entries if where == 0 and count == 1}


def _corner(tags: dict[int, Any]) -> tuple[float, float, float, float]:
    """Return longitude and latitude of the first cell's corner, and both steps [deg]."""
    if _MATRIX in tags:
        a, b, _, west, e, f, _, north = (float(number) for number in tags[_MATRIX][:8])
        steps = (a, -f) if b == 0.0 and e == 0.0 else (0.0, 0.0)
    elif _SCALE in tags and _TIE_POINT in tags:
        steps = float(tags[_SCALE][0]), float(tags[_SCALE][1])
        column, row, _, west, north = (float(number) for number in tags[_TIE_POINT][:5])
        west, north = west - column * steps[0], north + row * steps[1]
    else:
        raise _UnfitError("no place of the first cell", "a scale and a tie point, or a matrix")
    if not (steps[0] > 0.0 and steps[1] > 0.0):
        raise _UnfitError("a grid that is turned or upside down", "rows from north to south")
    if not (abs(north) <= 90.5 and abs(west) <= 540.0):
        raise _UnfitError(f"a corner at {north:g}, {west:g}", "latitude and longitude in degrees")
    return west, north, *steps


def _missing(tags: dict[int, Any]) -> float | None:
    """Return the file's missing value."""
    text = str(tags.get(_NO_DATA, "")).strip().strip("\0")
    try:
        return float(text) if text else None
    except ValueError:
        raise _UnfitError(f"missing value {text!r}", "a number") from None
