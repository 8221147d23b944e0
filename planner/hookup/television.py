"""Television in the antenna line: power at each part, third-order products at the carriers."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    FloatColumn = npt.NDArray[np.float64]

STRONGEST = 12
"""Channels that enter products; the rest is at least as far below as they are apart."""
HARMLESS_DBM = -45.0
"""A channel weaker than this at the antenna makes no product that matters: three of them make
less than -135 dBm with an intercept of 0 dBm."""
NOISE_LIKE_DB = 10 * math.log10(2)
"""A noise-like A counts twice in 2A-B: the mean of |a|^4 is 2 (mean of |a|^2)^2."""
THREE_SIGNALS_DB = 10 * math.log10(4)
"""A+B-C of three signals: amplitude twice that of 2A-B, so four times the power."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AirChannels:
    """What arrives at one stop, as an isotropic antenna takes it; read-only columns.

    Attributes
    ----------
    low_hz, high_hz : (n,) int64
        Edges of each emission's channel [Hz].
    occupied_hz : (n,) float64
        Width over which it spreads its power [Hz].
    power_dbm : (n,) float64
        Whole power [dBm].
    spread_db : (n,) float64
        One standard deviation of it [dB].
    bearing_deg : (n,) float64
        From the stop [deg].
    label : tuple of str
        Name of the transmitter for people.
    """

    low_hz: npt.NDArray[np.int64]
    high_hz: npt.NDArray[np.int64]
    occupied_hz: FloatColumn
    power_dbm: FloatColumn
    spread_db: FloatColumn
    bearing_deg: FloatColumn
    label: tuple[str, ...]

    def __post_init__(self) -> None:
        for name in ("low_hz", "high_hz", "occupied_hz", "power_dbm", "spread_db", "bearing_deg"):
            getattr(self, name).setflags(write=False)

    def __len__(self) -> int:
        return len(self.low_hz)

    @property
    def centre_hz(self) -> FloatColumn:
        """Middles of the channels [Hz]."""
        middle: FloatColumn = (self.low_hz + self.high_hz) / 2.0
        return middle


def no_air() -> AirChannels:
    """Return an air in which nothing arrives."""
    whole = np.zeros(0, dtype=np.int64)
    return AirChannels(
        low_hz=whole,
        high_hz=whole.copy(),
        occupied_hz=np.zeros(0),
        power_dbm=np.zeros(0),
        spread_db=np.zeros(0),
        bearing_deg=np.zeros(0),
        label=(),
    )


def antenna_pattern_db(
    off_axis_deg: npt.NDArray[np.float64] | float,
    *,
    beam_deg: float | None,
    front_to_back_db: float | None,
) -> npt.NDArray[np.float64]:
    """Return what a directional antenna takes off a signal from aside.

    Parameters
    ----------
    off_axis_deg : float or array
        Angle from its axis [deg], any.
    beam_deg : float or None
        Half-power width [deg]; None for an antenna that hears all round.
    front_to_back_db : float or None
        Most that it takes off [dB]; None: 10 dB.

    Returns
    -------
    array
        0 or less [dB].

    References
    ----------
    Parabola of 12 (angle / width)^2 down to the back: horizontal pattern of 3GPP TR 38.901
    table 7.3-1. Real antennas have nulls deeper and side lobes higher.
    """
    angle = np.abs((np.asarray(off_axis_deg, dtype=np.float64) + 180.0) % 360.0 - 180.0)
    if beam_deg is None:
        return np.zeros_like(angle)
    floor = 10.0 if front_to_back_db is None else front_to_back_db
    down: FloatColumn = -np.minimum(12.0 * (angle / beam_deg) ** 2, floor)
    return down


def product_shape(offset: FloatColumn) -> FloatColumn:
    """Return how a product of three evenly spread signals of one width spreads its power.

    Parameters
    ----------
    offset : array
        Distance from the product's middle, in widths of one signal.

    Returns
    -------
    array
        Share of the power for each width: 3/4 in the middle, 0 from 1.5 widths on; its integral
        is 1.

    References
    ----------
    Three rectangles convolved: the quadratic B-spline. The product is thrice as wide as a signal.
    """
    x = np.abs(offset)
    return np.where(x < 0.5, 0.75 - x * x, np.where(x < 1.5, 0.5 * (1.5 - x) ** 2, 0.0))


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Triples:
    """All third-order products of some channels, and their share at some carriers.

    Attributes
    ----------
    a, b, c : (t,) int64
        Which channels make A + B - C; A = B for a pair.
    level_db : (t,) float64
        3 dB for 2A-B, 6 dB for A+B-C: what noise-like and three signals add.
    middle_hz, width_hz : (t,) float64
        Middle of the product and mean width of its signals [Hz]; it fills three of these.
    share : (t, n) float64
        Share of its power inside each carrier's bandwidth.
    """

    a: npt.NDArray[np.int64]
    b: npt.NDArray[np.int64]
    c: npt.NDArray[np.int64]
    level_db: FloatColumn
    middle_hz: FloatColumn
    width_hz: FloatColumn
    share: FloatColumn


def triples_of(
    centre_hz: FloatColumn,
    occupied_hz: FloatColumn,
    carriers_hz: Sequence[int],
    *,
    bandwidth_hz: float,
) -> Triples:
    """Return the third-order products of channels at carriers.

    Parameters
    ----------
    centre_hz, occupied_hz : (n,) float64
        Channels [Hz].
    carriers_hz : sequence of int
        Carrier centres [Hz].
    bandwidth_hz : float
        Of one carrier [Hz].

    Notes
    -----
    A channel with itself (A = B = C) is the shoulder that an overdriven part grows beside it, with
    the same law. Products wider than one raster take the mean width of their three signals.
    """
    n = len(centre_hz)
    a, b, c = (axis.ravel() for axis in np.meshgrid(*[np.arange(n)] * 3, indexing="ij"))
    keep = (a <= b) & ~((c == a) & (a != b)) & ~((c == b) & (a != b))
    a, b, c = a[keep], b[keep], c[keep]
    middle = centre_hz[a] + centre_hz[b] - centre_hz[c]
    width = (occupied_hz[a] + occupied_hz[b] + occupied_hz[c]) / 3.0
    carriers = np.asarray(carriers_hz, dtype=np.float64)
    offset = (carriers[None, :] - middle[:, None]) / width[:, None]
    share = product_shape(offset) * np.minimum(bandwidth_hz / width, 1.0)[:, None]
    return Triples(
        a=a,
        b=b,
        c=c,
        level_db=np.where(a == b, NOISE_LIKE_DB, THREE_SIGNALS_DB),
        middle_hz=middle,
        width_hz=width,
        share=share,
    )


def products_dbm(powers_dbm: FloatColumn, triples: Triples, amplitude: FloatColumn) -> FloatColumn:
    """Return the power of all products in each carrier, referred to the antenna output.

    Parameters
    ----------
    powers_dbm : (n,) float64
        Channels at the antenna output [dBm].
    triples : Triples
        From :func:`triples_of`.
    amplitude : (t,) float64
        For each product the sum over the parts of 1 / IIP3 [1/mW] at the antenna output: products
        of one pair add in phase from part to part, the worst case.

    Returns
    -------
    (n,) float64
        Power in each carrier's bandwidth [dBm]; minus infinity for none.
    """
    level = powers_dbm[triples.a] + powers_dbm[triples.b] + powers_dbm[triples.c]
    power_mw = 10 ** ((level + triples.level_db) / 10) * amplitude**2
    total = power_mw @ triples.share
    with np.errstate(divide="ignore"):
        out: FloatColumn = 10 * np.log10(total)
    return out


def strongest(air: AirChannels, powers_dbm: FloatColumn) -> npt.NDArray[np.int64]:
    """Return the channels that enter products: the strongest, of one channel its strongest."""
    order = np.argsort(-powers_dbm, kind="stable")
    seen: set[int] = set()
    kept: list[int] = []
    for k in order:
        if int(air.low_hz[k]) not in seen and powers_dbm[k] >= HARMLESS_DBM:
            seen.add(int(air.low_hz[k]))
            kept.append(int(k))
        if len(kept) == STRONGEST:
            break
    return np.array(kept, dtype=np.int64)
