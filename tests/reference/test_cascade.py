"""Noise figure, intercepts and splitters of stages in a row, against published examples."""

from __future__ import annotations

import math

import pytest

from planner.hookup.cascade import (
    Stage,
    gain_db,
    iip3_dbm,
    noise_figure_db,
    oip3_dbm,
    passive,
    product_dbm,
)
from planner.hookup.trees import ideal_split_loss_db

TOOLBOX = "general numerical toolbox documentation"


def row(gains: list[float], figures: list[float], oip3: list[float] | None = None) -> list[Stage]:
    points = oip3 or [math.inf] * len(gains)
    return [
        Stage(part=f"stage {k}", gain_db=gain, noise_figure_db=figure, oip3_dbm=point)
        for k, (gain, figure, point) in enumerate(zip(gains, figures, points, strict=True))
    ]


@pytest.mark.parametrize(
    ("gains_db", "figures_db", "expected_db", "tolerance_db", "source"),
    [
        # the factor is printed as 1.80, and the figure to 0.01 dB
        ([10, -1, -3], [2, 1, 4], 2.55, 0.01, "Pozar, Microwave Engineering, from memory"),
        (
            [15, -0.5, -7, -1, 15, 20, -5],
            [1, 0.5, 5, 1, 0.6, 1, 6],
            1.5252,
            5e-5,  # half the last printed digit
            f"{TOOLBOX}, phased/ref/noisefigure",
        ),
        ([11], [25], 25.0000, 5e-5, f"{TOOLBOX}, rf/ref/rfchain.cumnoisefig"),
        ([11, -3], [25, 3], 25.0011, 5e-5, "same"),
        ([11, -3, 7], [25, 3, 5], 25.0058, 5e-5, "same"),
        ([-2, 18, -1, -6], [2, 1.5, 1, 8], 3.83, 0.01, "learning page, noise figure cascade"),
        ([10, 0], [3, 6], 3.6, 0.05, "365electric.com page 169912: F = 2.3"),
    ],
)
def test_noise_figure(
    gains_db: list[float],
    figures_db: list[float],
    expected_db: float,
    tolerance_db: float,
    source: str,
) -> None:
    assert abs(noise_figure_db(row(gains_db, figures_db)) - expected_db) <= tolerance_db, source


def test_noise_figure_of_three_amplifiers() -> None:
    """theprimecalculator.com, noise figure formula: 1.5, 6, 10 dB behind 20 and 10 dB."""
    assert abs(noise_figure_db(row([20, 10, 0], [1.5, 6, 10])) - 1.62) <= 0.01


def test_gain_of_the_toolbox_chain() -> None:
    """phased/ref/noisefigure: 36.5 dB."""
    stages = row([15, -0.5, -7, -1, 15, 20, -5], [1, 0.5, 5, 1, 0.6, 1, 6])
    assert abs(gain_db(stages) - 36.5) <= 1e-9


def test_a_passive_part_has_its_loss_as_noise_figure() -> None:
    """Identity at 290 K; two in a row are one of the sum."""
    assert passive("filter", 2).noise_figure_db == 2
    both = noise_figure_db([passive("cable", 3.4), passive("splitter", 6.9)])
    assert abs(both - 10.3) <= 1e-9
    with pytest.raises(ValueError, match="a passive part with -1 dB of loss"):
        passive("cable", -1)


@pytest.mark.parametrize(
    ("gains_db", "points_dbm", "expected_dbm", "tolerance_db", "source"),
    [
        ([11], [30], 30.0000, 5e-5, f"{TOOLBOX}, rf/ref/rfchain.cumoip3"),
        ([11, -3], [30, math.inf], 27.0000, 5e-5, "same"),
        ([11, -3, 7], [30, math.inf, 10], 9.9827, 5e-5, "same"),
        # printed as 273 mW
        ([15, -3, 15], [21, math.inf, 25], 24.36, 0.05, "edaboard.com thread 279934"),
        # mixer: IIP3 13 dBm, loss 6 dB; printed 4.4 mW
        ([20, -6], [22, 7], 6.45, 0.1, "Pozar, Microwave Engineering, from memory"),
    ],
)
def test_output_intercept(
    gains_db: list[float],
    points_dbm: list[float],
    expected_dbm: float,
    tolerance_db: float,
    source: str,
) -> None:
    stages = row(gains_db, [3.0] * len(gains_db), points_dbm)
    assert abs(oip3_dbm(stages) - expected_dbm) <= tolerance_db, source


@pytest.mark.parametrize(("count", "expected_dbm"), [(1, 19.0), (2, 19.0), (3, -5.0173)])
def test_input_intercept(count: int, expected_dbm: float) -> None:
    """General numerical toolbox documentation, rf/ref/rfchain.cumiip3: IIP3 19, inf, 3 dBm."""
    gains = [11.0, -3.0, 7.0]
    points = [19.0 + 11.0, math.inf, 3.0 + 7.0]
    stages = row(gains[:count], [3.0] * count, points[:count])
    assert abs(iip3_dbm(stages) - expected_dbm) <= 5e-5  # half the last printed digit


def test_product_of_two_equal_tones() -> None:
    """Textbook companion 1583, example 3.13: two tones of 0 dBm, intercept 20 dBm, -40 dBc."""
    assert product_dbm(0.0, 0.0, 20.0) == -40.0


@pytest.mark.parametrize(
    ("ways", "printed_db"),
    [(2, 3.0), (3, 4.8), (4, 6.0), (6, 7.8), (8, 9.0), (12, 10.8), (16, 12.0), (32, 15.0)],
)
def test_ideal_loss_of_a_splitter(ways: int, printed_db: float) -> None:
    """Power divider table of a component supplier: 10 log N, printed to 0.1 dB."""
    assert abs(ideal_split_loss_db(ways) - printed_db) <= 0.06


def test_two_antennas_joined_cost_3_db_each() -> None:
    """Bare antennas: the joint's loss; behind amplifiers: twice the noise. Both are 3 dB."""
    joint = passive("joint", 10 * math.log10(2), joined=2)
    assert abs(noise_figure_db([joint]) - 3.0103) <= 5e-5
    amplifier = Stage(part="amplifier", gain_db=30.0, noise_figure_db=3.0)
    single = noise_figure_db([amplifier])
    # exact: F + ((L - 1) + (F G - 1)) / G = 2 F + (L - 2) / G with L = 2
    assert abs(noise_figure_db([amplifier, joint]) - (single + 3.0103)) <= 5e-4
