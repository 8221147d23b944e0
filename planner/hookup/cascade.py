"""Stages in a row: gain, noise figure, third-order intercepts, levels.

Figures stand at one frequency. A passive stage at the standard temperature of 290 K has its loss
as noise figure, and neither intercept nor compression of its own.
"""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Stage:
    """One part of a branch at one frequency.

    Attributes
    ----------
    part : str
        Its name, as the level budget prints it.
    gain_db : float
        From its input to the output used [dB].
    noise_figure_db : float
        Noise figure [dB] against 290 K.
    oip3_dbm, p1db_dbm : float
        Output intercept and output 1 dB compression [dBm]; infinite for a linear part.
    joined : int
        Like inputs that it joins: 2 where two antennas meet here; each brings its noise along.
    """

    part: str
    gain_db: float
    noise_figure_db: float
    oip3_dbm: float = math.inf
    p1db_dbm: float = math.inf
    joined: int = 1


def passive(part: str, loss_db: float, *, joined: int = 1) -> Stage:
    """Return a passive stage: noise figure equal to its loss.

    Parameters
    ----------
    part : str
        Its name.
    loss_db : float
        0 or more [dB].
    joined : int
        Like inputs that meet here.

    Raises
    ------
    ValueError
        For a passive part that gains.
    """
    if loss_db < 0:
        raise ValueError(f"{part}: a passive part with {loss_db:g} dB of loss; allowed: 0 or more")
    return Stage(part=part, gain_db=-loss_db, noise_figure_db=loss_db, joined=joined)


def gain_db(stages: Sequence[Stage]) -> float:
    """Return the gain of stages in a row [dB]; 0 for none."""
    return math.fsum(stage.gain_db for stage in stages)


def noise_figure_db(stages: Sequence[Stage]) -> float:
    """Return the noise figure of stages in a row, referred to the first input.

    Parameters
    ----------
    stages : sequence of Stage
        First stage first; none gives 0 dB.

    Returns
    -------
    float
        Noise figure [dB].

    Notes
    -----
    Where a stage joins m like inputs, the wanted signal comes by one of them and the excess noise
    of the parts before comes by all: their sum stands at its output m times. Behind bare antennas
    there is no excess noise and the joint costs its loss; behind amplifiers it costs 3 dB of noise
    for each doubling of the antennas.

    References
    ----------
    H. T. Friis, Noise Figures of Radio Receivers, Proc. IRE 32 (1944) 419-422:
    F = F1 + (F2 - 1) / G1 + (F3 - 1) / (G1 G2) + ...
    """
    factor, gain = 1.0, 1.0
    for stage in stages:
        own = 10 ** (stage.noise_figure_db / 10) - 1
        own += (stage.joined - 1) * max(0.0, factor * gain - 1)
        factor += own / gain
        gain *= 10 ** (stage.gain_db / 10)
    return 10 * math.log10(factor)


def oip3_dbm(stages: Sequence[Stage]) -> float:
    """Return the third-order intercept at the output of stages in a row.

    Parameters
    ----------
    stages : sequence of Stage
        First stage first.

    Returns
    -------
    float
        Output intercept [dBm]; infinite where every stage is linear.

    References
    ----------
    Products of all stages added in phase, the worst case: 1 / OIP3 = sum of 1 / (OIP3_k G_k+1
    ... G_n) in milliwatts (textbook form; checked against published examples in the tests).
    """
    total = 0.0
    after = 0.0
    for stage in reversed(stages):
        total += 10 ** (-(stage.oip3_dbm + after) / 10)
        after += stage.gain_db
    return -10 * math.log10(total) if total > 0 else math.inf


def iip3_dbm(stages: Sequence[Stage]) -> float:
    """Return the third-order intercept at the input of stages in a row [dBm]."""
    return oip3_dbm(stages) - gain_db(stages)


def product_dbm(first_dbm: float, second_dbm: float, intercept_dbm: float) -> float:
    """Return the level of the product 2A-B of two carriers, where the three levels stand.

    Parameters
    ----------
    first_dbm, second_dbm : float
        Levels of A and B [dBm].
    intercept_dbm : float
        Third-order intercept in the same plane [dBm].

    Returns
    -------
    float
        Level [dBm]: 2 A + B - 2 IP3; minus infinity for an infinite intercept.

    References
    ----------
    Two equal tones P give P + 2 (P - IP3) (textbook identity); a level that differs counts as
    often as it enters the product.
    """
    return 2 * first_dbm + second_dbm - 2 * intercept_dbm
