"""Small GeoTIFFs of invented ground, written with Pillow."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from PIL import Image, TiffImagePlugin

if TYPE_CHECKING:
    from pathlib import Path

    import numpy.typing as npt

KEYS: dict[int, int] = {1024: 2, 1025: 1, 2048: 4326}
"""Degrees, cells as areas, WGS84."""


def write_geotiff(
    path: Path,
    heights: npt.NDArray[Any],
    *,
    west_deg: float,
    north_deg: float,
    step_deg: float,
    keys: dict[int, int] | None = None,
    tags: dict[int, Any] | None = None,
    compression: str | None = None,
) -> Path:
    """Write heights with the corner (or centre, by key 1025) of their first cell."""
    info = TiffImagePlugin.ImageFileDirectory_v2()
    known = KEYS if keys is None else keys
    directory = [1, 1, 0, len(known)]
    for key, value in sorted(known.items()):
        directory += [key, 0, 1, value]
    doubles: dict[int, tuple[float, ...]] = {
        33550: (step_deg, step_deg, 0.0),
        33922: (0.0, 0.0, 0.0, west_deg, north_deg, 0.0),
    }
    for tag, numbers in doubles.items():
        info[tag] = numbers
        info.tagtype[tag] = 12
    if known:
        info[34735] = tuple(directory)
        info.tagtype[34735] = 3
    for tag, value in (tags or {}).items():
        if value is None:
            del info[tag]
        else:
            info[tag] = value
            info.tagtype[tag] = {str: 2, int: 3}.get(type(value), 12)
    Image.fromarray(np.ascontiguousarray(heights)).save(
        path, format="TIFF", tiffinfo=info, compression=compression
    )
    return path
