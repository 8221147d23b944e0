"""Third-order products to be shown: television pairs as spans, near microphones in the branch."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

import numpy as np

from planner.hookup.budget import product_amplitude
from planner.hookup.cascade import iip3_dbm, product_dbm
from planner.hookup.records import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.hookup.budget import Budget
    from planner.hookup.records import ReceiverGroup

SHOWN = 6


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class TvProduct:
    """A product of television channels made in the branch.

    Attributes
    ----------
    formula : str
        ``"2 A - B"`` or ``"A + B - C"`` in names; ``"shoulder of A"`` for one channel alone.
    low_hz, high_hz : float
        Span it fills [Hz].
    level_dbm : float
        Most that a carrier of the group takes of it, referred to the antenna output [dBm].
    noise_dbm : float
        All noise in that carrier's bandwidth, products included [dBm].
    """

    formula: str
    low_hz: float
    high_hz: float
    level_dbm: float
    noise_dbm: float


def tv_products(budget: Budget, group: ReceiverGroup) -> tuple[TvProduct, ...]:
    """Return the strongest products of television at the carriers of a group.

    Parameters
    ----------
    budget, group : Budget, ReceiverGroup
        A level budget and its receivers.

    Returns
    -------
    tuple of TvProduct
        :data:`SHOWN` at most, the strongest first; none where no part makes any.
    """
    antenna = budget.antenna
    amplitude = product_amplitude(budget.elements, antenna, group)
    if amplitude is None:
        return ()
    triples, powers = antenna.triples, antenna.tv_dbm[antenna.picked]
    level = powers[triples.a] + powers[triples.b] + powers[triples.c] + triples.level_db
    with np.errstate(divide="ignore"):
        each = level + 20 * np.log10(amplitude) + 10 * np.log10(triples.share.max(axis=1))
    order = [int(k) for k in np.argsort(-each, kind="stable")[:SHOWN] if math.isfinite(each[k])]
    names = [antenna.tv_label[k] for k in antenna.picked]
    found = []
    for k in order:
        a, b, c = (int(axis[k]) for axis in (triples.a, triples.b, triples.c))
        carrier = int(np.argmax(triples.share[k]))
        half = 0.5 * triples.width_hz[k] * 3
        found.append(
            TvProduct(
                formula=_formula(names, a, b, c),
                low_hz=float(triples.middle_hz[k] - half),
                high_hz=float(triples.middle_hz[k] + half),
                level_dbm=float(each[k]),
                noise_dbm=float(budget.noise_dbm[carrier]),
            )
        )
    return tuple(found)


def _formula(names: list[str], a: int, b: int, c: int) -> str:
    if a == b == c:
        return f"shoulder of {names[a]}"
    if a == b:
        return f"2 x {names[a]} - {names[c]}"
    return f"{names[a]} + {names[b]} - {names[c]}"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NearProducts:
    """Products 2A-B of two microphones at the near edge, made by the distribution itself.

    Attributes
    ----------
    level_dbm, noise_dbm : float
        Of one product and of the noise in a carrier's bandwidth, at the antenna output [dBm];
        minus infinity where no part has a known intercept.
    on_carriers : int
        Carriers of this stop on which such a product falls.
    """

    level_dbm: float
    noise_dbm: float
    on_carriers: int


def near_findings(budget: Budget, group: ReceiverGroup, *, where: str) -> Iterator[Finding]:
    """Yield a remark where products of near microphones fall on planned carriers, over noise."""
    near = near_products(budget, group)
    if near.on_carriers and near.level_dbm > near.noise_dbm:
        place = f"{where}, {budget.antenna.place}" if budget.antenna.place else where
        yield Finding(
            code="near-products",
            where=place,
            text=f"two microphones at the near edge make products of {near.level_dbm:.1f} dBm in "
            f"the branch, {near.level_dbm - near.noise_dbm:.1f} dB over the noise, on "
            f"{near.on_carriers} of the carriers planned",
            advice="antennas farther from the near edge, less gain or less transmitter power; a "
            "range whose guards keep these products off",
        )


def near_products(budget: Budget, group: ReceiverGroup) -> NearProducts:
    """Return the product level of two near microphones, and whom it meets.

    Parameters
    ----------
    budget, group : Budget, ReceiverGroup
        A level budget and its receivers.

    Notes
    -----
    A product counts as met where its middle lies within a bandwidth of a carrier that is not one
    of its sources. The carriers of a plan keep their guards, so it meets only those whose range
    protects no product, or carriers set by hand.
    """
    antenna = budget.antenna
    near_dbm = float(antenna.near_dbm.max())
    intercept = iip3_dbm([step.stage(group.middle_hz) for step in budget.elements])
    carriers = antenna.carriers_hz
    met = 0
    if len(carriers) > 2:
        made = (2 * carriers[:, None] - carriers[None, :])[~np.eye(len(carriers), dtype=bool)]
        gap = np.abs(carriers[:, None] - made[None, :])
        met = int((gap < group.bandwidth_hz).any(axis=1).sum())
    return NearProducts(
        level_dbm=product_dbm(near_dbm, near_dbm, intercept),
        noise_dbm=float(budget.noise_dbm.min()),
        on_carriers=met,
    )
