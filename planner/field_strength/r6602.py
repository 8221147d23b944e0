"""Field strength of television stations in FCC countries, by the curves of Report R-6602.

The curves give the field about 9 m above ground that is exceeded at 50 % of places for 50, 10 or
90 % of the time. Between the tabulated points runs Akima's bivariate surface on plain distance and
height, the scheme of the regulator's own curve routine.

References
----------
FCC Report R-6602; 47 CFR 73.699 and 73.684; figures in ``planner/tables/fcc_r6602_curves.csv``.
Use of the curves (near and far limits, clamp of the height, F(50,90)) as in the regulator's
routine, FCC contours-api-node, commit b9c92ea (2021-05-21).
"""

# Numbers alone give a number, anything else an array: the overloads overlap on purpose.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

import functools
from types import MappingProxyType
from typing import TYPE_CHECKING, overload

import numpy as np

from planner.errors import OutOfModelRange
from planner.field_strength import free_space
from planner.field_strength._numbers import columns, decibels, same_kind
from planner.field_strength.akima import BicubicSurface, akima_surface, horner
from planner.tables import read_table

if TYPE_CHECKING:
    import numpy.typing as npt

    from planner.field_strength._numbers import FloatArray, Numbers

FAR_LIMIT_KM = MappingProxyType({"F(50,50)": 300.0, "F(50,10)": 500.0, "F(50,90)": 300.0})
"""Greatest distance of each curve [km]; beyond it no figure is given."""
CURVES = tuple(FAR_LIMIT_KM)
NEAR_LIMIT_KM = 1.5
"""Nearer than this [km] the field is that of free space."""
TIME_LIMIT_KM = 15.0
"""Nearer than this [km] F(50,10) and F(50,90) are F(50,50)."""
LOWEST_HAAT_M = 30.0
HIGHEST_HAAT_M = 1600.0
LOWEST_HZ = 54_000_000
HIGHEST_HZ = 890_000_000

_FIGURES = ("haat_m", "distance_km", "field_dbuv_m")
_BANDS = np.array(["vhf-low", "vhf-high", "uhf"])
_BAND_EDGES_HZ = (108e6, 300e6)
_CHUNK = 4096
_LEVELS_AT_ONCE = 50_000
_KEY_APART_DB = 4096.0
"""Room between the keys of two stations [dB]; fields stay far inside a quarter of it."""
_NEWTON_STEPS = 3
"""Steps to a crossing; the residual is below a millimetre (tested against bisection)."""
_HALVINGS = 32
"""Halvings of a cell of 16 km: 4 micrometres."""


@overload
def band(frequency_hz: float) -> str: ...
@overload
def band(frequency_hz: npt.NDArray[np.int64] | FloatArray) -> npt.NDArray[np.str_]: ...
def band(frequency_hz: Numbers) -> str | npt.NDArray[np.str_]:
    """Return the band whose curves hold at a frequency.

    Parameters
    ----------
    frequency_hz : float or array
        Frequency [Hz], 54 to 890 MHz.

    Returns
    -------
    str or array of str
        ``"vhf-low"`` (channels 2-6), ``"vhf-high"`` (7-13) or ``"uhf"`` (14 and above).
        Between the television bands the limits are 108 and 300 MHz, our own choice.

    Raises
    ------
    OutOfModelRange
        When a frequency is outside 54 to 890 MHz or not a number.
    """
    names = _BANDS[_band_index(np.asarray(frequency_hz, dtype=np.float64))]
    return str(names) if np.ndim(frequency_hz) == 0 else names


@overload
def field_dbuv_m(
    curve: str, frequency_hz: float, *, haat_m: float, distance_km: float, erp_kw: float
) -> float: ...
@overload
def field_dbuv_m(
    curve: str, frequency_hz: Numbers, *, haat_m: Numbers, distance_km: Numbers, erp_kw: Numbers
) -> FloatArray: ...
def field_dbuv_m(
    curve: str, frequency_hz: Numbers, *, haat_m: Numbers, distance_km: Numbers, erp_kw: Numbers
) -> float | FloatArray:
    """Return the field of a station about 9 m above ground.

    Parameters
    ----------
    curve : str
        ``"F(50,50)"``, ``"F(50,10)"`` or ``"F(50,90)"``: exceeded at 50 % of places for that
        share of the time.
    frequency_hz : float or array
        Frequency [Hz], 54 to 890 MHz.
    haat_m : float or array
        Height above average terrain toward the receiver [m]; taken as 30 or 1600 m when below or
        above. NaN gives NaN.
    distance_km : float or array
        Distance [km]. Nearer than 1.5 km the field is that of free space (below 0.01 km held);
        nearer than 15 km F(50,10) and F(50,90) are F(50,50). Beyond 300 km (F(50,10): 500 km),
        or negative: NaN.
    erp_kw : float or array
        Power over a half-wave dipole toward the receiver [kW]; 0 gives minus infinity, negative
        NaN.

    Returns
    -------
    float or array
        Field [dB(uV/m)], in the common shape.

    Raises
    ------
    OutOfModelRange
        When a frequency is outside 54 to 890 MHz or not a number.
    ValueError
        When the curve is not one of the three.

    Notes
    -----
    F(50,90) lies as far below F(50,50) as F(50,10) lies above it. The curves do not meet free
    space at 1.5 km: the field drops there, by up to 11 dB at the lowest heights. At 15 km F(50,10)
    and F(50,90) step from F(50,50), up or down by less than 1 dB. Outside the tabulated points
    (30.48 to 1524 m; from 1.609 km, F(50,10) from 16.093 km) the curves go on as a parabola.
    """
    _require_curve(curve)
    frequency, haat, distance, erp = columns(frequency_hz, haat_m, distance_km, erp_kw)
    shape = distance.shape
    bands = _band_index(frequency).reshape(-1)
    haat, distance = np.clip(haat, LOWEST_HAAT_M, HIGHEST_HAAT_M).reshape(-1), distance.reshape(-1)
    field = np.array(free_space.field_dbuv_m(distance, 1.0))
    field[~(distance <= FAR_LIMIT_KM[curve]) | np.isnan(haat)] = np.nan
    on_curve = (distance >= NEAR_LIMIT_KM) & ~np.isnan(field)
    for index in range(len(_BANDS)):
        rows = np.flatnonzero(on_curve & (bands == index))
        if rows.size:
            field[rows] = _surface(curve, index).value(distance[rows], haat[rows])
    return same_kind(field.reshape(shape) + decibels(erp))


@overload
def contour_distance_km(
    curve: str, frequency_hz: float, *, haat_m: float, field_dbuv_m: float, erp_kw: float
) -> float: ...
@overload
def contour_distance_km(
    curve: str, frequency_hz: Numbers, *, haat_m: Numbers, field_dbuv_m: Numbers, erp_kw: Numbers
) -> FloatArray: ...
def contour_distance_km(
    curve: str, frequency_hz: Numbers, *, haat_m: Numbers, field_dbuv_m: Numbers, erp_kw: Numbers
) -> float | FloatArray:
    """Return the greatest distance at which the field still reaches a level.

    Parameters
    ----------
    curve, frequency_hz, haat_m, erp_kw
        As for :func:`field_dbuv_m`.
    field_dbuv_m : float or array
        Level [dB(uV/m)].

    Returns
    -------
    float or array
        Distance [km], in the common shape. NaN where an argument is NaN or the power negative;
        0 without power. Where the field drops past the level at 1.5 or 15 km, that distance.
        Inside 1.5 km the free-space distance. Where the level is met out to the far limit of the
        curve (300 km, F(50,10): 500 km) that limit: the true distance is greater, unknown, and no
        protected contour of a lawful station comes near it.

    Raises
    ------
    OutOfModelRange, ValueError
        As for :func:`field_dbuv_m`.

    Notes
    -----
    The field falls with distance but for the step at 15 km, which may rise. The outermost crossing
    is taken: it protects more.
    """
    _require_curve(curve)
    frequency, haat, level, erp = columns(frequency_hz, haat_m, field_dbuv_m, erp_kw)
    shape = level.shape
    bands = _band_index(frequency).reshape(-1)
    haat = np.clip(haat, LOWEST_HAAT_M, HIGHEST_HAAT_M).reshape(-1)
    level = (level - decibels(erp)).reshape(-1)
    with np.errstate(over="ignore"):
        near = 10 ** ((free_space.FIELD_AT_1_KM_DBUV_M - level) / 20)
    distance: FloatArray = np.minimum(near, NEAR_LIMIT_KM)
    distance[np.isnan(haat)] = np.nan
    for index in range(len(_BANDS)):
        rows = np.flatnonzero((bands == index) & ~np.isnan(distance))
        for start in range(0, rows.size, _CHUNK):
            part = rows[start : start + _CHUNK]
            found = _outermost(_surface(curve, index), haat[part], level[part])
            distance[part] = np.fmax(found, distance[part])
    return same_kind(distance.reshape(shape))


def contour_radii_km(
    curve: str, frequency_hz: FloatArray, *, haat_m: FloatArray, field_dbuv_m: FloatArray
) -> FloatArray:
    """Return contour distances for many levels a station; :func:`contour_distance_km` in bulk.

    Parameters
    ----------
    curve : str
        As for :func:`field_dbuv_m`.
    frequency_hz, haat_m : (n,) float64
        Frequency [Hz], 54 to 890 MHz; height above average terrain [m], not NaN.
    field_dbuv_m : (n, k) float64
        Levels for 1 kW [dB(uV/m)]: the level wanted less the power in dB(kW). Not NaN.

    Returns
    -------
    (n, k) float64
        Distance [km], within a millimetre of :func:`contour_distance_km`.

    Raises
    ------
    OutOfModelRange, ValueError
        As for :func:`field_dbuv_m`.

    Notes
    -----
    The curve is cut once a station; the crossing within its cell is found by bisection and
    Newton steps that are kept inside the bracket.
    """
    _require_curve(curve)
    bands = _band_index(np.asarray(frequency_hz, dtype=np.float64))
    haat = np.clip(haat_m, LOWEST_HAAT_M, HIGHEST_HAAT_M)
    with np.errstate(over="ignore"):
        near = 10 ** ((free_space.FIELD_AT_1_KM_DBUV_M - field_dbuv_m) / 20)
    radii: FloatArray = np.minimum(near, NEAR_LIMIT_KM)
    for index in range(len(_BANDS)):
        rows = np.flatnonzero(bands == index)
        step = max(1, _LEVELS_AT_ONCE // max(1, field_dbuv_m.shape[1]))
        for start in range(0, rows.size, step):
            part = rows[start : start + step]
            found = _crossings(_surface(curve, index), haat[part], field_dbuv_m[part])
            radii[part] = np.fmax(found, radii[part])
    return radii


def _crossings(surface: BicubicSurface, haat: FloatArray, level: FloatArray) -> FloatArray:
    """Return the greatest distances at which levels are reached, (n, k) [km], NaN where nowhere.

    The greatest field from a cell outwards falls cell by cell, so that a sorted search finds the
    last cell that starts at or above the level.
    """
    cubics = surface.along_x(haat)
    stations, cells, _ = cubics.shape
    outwards = np.maximum.accumulate(cubics[:, ::-1, 0], axis=1)
    keys = (outwards + _KEY_APART_DB * np.arange(stations)[:, None]).ravel()
    held = np.clip(level, -_KEY_APART_DB / 4, _KEY_APART_DB / 4)
    found = np.searchsorted(keys, held + _KEY_APART_DB * np.arange(stations)[:, None])
    inner = found - cells * np.arange(stations)[:, None]
    cell = np.clip(cells - 1 - inner, 0, cells - 1)
    c_0, c_1, c_2, c_3 = np.moveaxis(cubics[np.arange(stations)[:, None], cell], -1, 0)
    c_0 = c_0 - level
    low, high = np.zeros(level.shape), np.ones(level.shape)
    fall = -(c_1 + c_2 + c_3)
    share = np.clip(c_0 / np.where(fall == 0, 1.0, fall), 0.0, 1.0)
    for _ in range(_NEWTON_STEPS):
        value = ((c_3 * share + c_2) * share + c_1) * share + c_0
        low, high = np.where(value >= 0, share, low), np.where(value >= 0, high, share)
        slope = (3 * c_3 * share + 2 * c_2) * share + c_1
        trial = share - value / np.where(slope == 0, -1.0, slope)
        inside = (trial >= low) & (trial <= high) & (slope < 0)
        share = np.where(inside, trial, (low + high) / 2)
    share = np.where(c_0 + c_1 + c_2 + c_3 >= 0, 1.0, share)
    start, end = surface.x[cell], surface.x[cell + 1]
    return np.where(inner < cells, start + share * (end - start), np.nan)


def _require_curve(curve: str) -> None:
    if curve not in FAR_LIMIT_KM:
        raise ValueError(f"curve {curve!r} is not known; use one of {', '.join(CURVES)}")


def _band_index(frequency_hz: FloatArray) -> npt.NDArray[np.intp]:
    bad = ~((frequency_hz >= LOWEST_HZ) & (frequency_hz <= HIGHEST_HZ))
    if bad.any():
        value = float(frequency_hz[bad][0])
        raise OutOfModelRange("frequency_hz", value, LOWEST_HZ, HIGHEST_HZ)
    return np.searchsorted(_BAND_EDGES_HZ, frequency_hz, side="right")


def _outermost(surface: BicubicSurface, haat: FloatArray, level: FloatArray) -> FloatArray:
    """Return the greatest distance at which each level is reached [km], NaN where nowhere.

    Within one cell the field falls with distance, so the last cell that starts at or above the
    level holds the crossing, or the whole cell lies above and the field drops at its end.
    """
    cubics = surface.along_x(haat)
    reached = cubics[..., 0] >= level[:, None]
    cell = reached.shape[1] - 1 - np.argmax(reached[:, ::-1], axis=1)
    cubic = cubics[np.arange(len(cell)), cell]
    low, high = np.zeros(len(cell)), np.ones(len(cell))
    above_at_end = horner(cubic, high) >= level
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        above = horner(cubic, middle) >= level
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    share = np.where(above_at_end, 1.0, (low + high) / 2)
    start, end = surface.x[cell], surface.x[cell + 1]
    return np.where(reached.any(axis=1), start + share * (end - start), np.nan)


@functools.cache
def _surface(curve: str, band_index: int) -> BicubicSurface:
    """Build one curve of one band, ready to use: cells from 1.5 km to the far limit."""
    name = str(_BANDS[band_index])
    median = _fitted("F(50,50)", name)
    if curve == "F(50,50)":
        return median.recut(_edges(median, NEAR_LIMIT_KM, FAR_LIMIT_KM[curve]))
    tenth = _fitted("F(50,10)", name)
    near = median.recut(_edges(median, NEAR_LIMIT_KM, TIME_LIMIT_KM))
    edges = _edges(tenth, TIME_LIMIT_KM, FAR_LIMIT_KM[curve])
    far = tenth.recut(edges).coefficients
    if curve == "F(50,90)":
        far = 2 * median.recut(edges).coefficients - far
    return BicubicSurface(
        x=np.concatenate([near.x, edges[1:]]),
        y=near.y,
        coefficients=np.concatenate([near.coefficients, far], axis=1),
    )


def _edges(surface: BicubicSurface, low_km: float, high_km: float) -> FloatArray:
    """Return the edges of a surface's cells that lie between two distances, and the two."""
    inside = surface.x[(surface.x > low_km) & (surface.x < high_km)]
    return np.concatenate([[low_km], inside, [high_km]])


@functools.cache
def _fitted(curve: str, band_name: str) -> BicubicSurface:
    """Fit the tabulated points of one curve and band."""
    table = read_table("fcc_r6602_curves")
    rows = [
        row
        for row, key in enumerate(zip(table["curve"], table["band"], strict=True))
        if key == (curve, band_name)
    ]
    figures = [np.array([float(table[name][row]) for row in rows]) for name in _FIGURES]
    heights, height_index = np.unique(figures[0], return_inverse=True)
    distances, distance_index = np.unique(figures[1], return_inverse=True)
    grid = np.full((len(heights), len(distances)), np.nan)
    grid[height_index, distance_index] = figures[2]
    return akima_surface(distances, heights, grid)
