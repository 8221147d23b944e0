"""Levels worked by hand: a chain step by step, television of one mast, its pair products."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.hookup.budget import at_antenna, examine, product_amplitude
from planner.hookup.cascade import gain_db, iip3_dbm, noise_figure_db
from planner.hookup.chains import Element, branch_elements, noise_factor
from planner.hookup.records import Arrangement
from planner.hookup.television import (
    NOISE_LIKE_DB,
    antenna_pattern_db,
    product_shape,
    triples_of,
)
from planner.hookup.trees import build_tree
from planner.records.hookup import HookupSpec, RackSpec
from tests.unit.hookup_cases import AERIAL, FOUR_BY_TWO, RUN, TEN, group, mast, scene

SPEC = HookupSpec(racks=(RackSpec(name="Rack"),), connector_loss_db=0.15, patch_m=1.0)


def chain() -> list[Element]:
    """Amplifier, 30 m of cable, two splitters in cascade, lead: the far receiver of eight."""
    tree = build_tree([FOUR_BY_TWO] * 2, 8, cascade=True)
    assert tree is not None
    arrangement = Arrangement(antenna=AERIAL, cable=RUN, tree=tree, amplifier=TEN, lead=RUN)
    return branch_elements(arrangement, SPEC, length_m=30.0, zones=1, path=tree.path(7))


def test_a_chain_by_hand() -> None:
    """At 500 MHz: 1.0780 sqrt(500) + 0.01115 x 500 = 24.1048 + 5.575 = 29.6798 dB per 100 m."""
    stages = [step.stage(500e6) for step in chain()]
    by_hand = [
        ("ten", 10.0, 3.5),
        ("run, 30 m", -8.9039, 8.9039),
        ("2 connector pairs", -0.30, 0.30),
        ("four by two, cascade port", 0.5, 4.0),
        ("four by two", 1.5, 4.0),
        ("2 x run lead, 1 m", -0.5936, 0.5936),  # one between the splitters, one behind
        ("3 connector pairs", -0.45, 0.45),
    ]
    assert [stage.part for stage in stages] == [name for name, _, _ in by_hand]
    for stage, (_, gain, figure) in zip(stages, by_hand, strict=True):
        assert abs(stage.gain_db - gain) <= 5e-5  # half the last digit written above
        assert abs(stage.noise_figure_db - figure) <= 5e-5
    assert abs(gain_db(stages) - 1.7525) <= 5e-4
    # F: 2.2387; cable (7.7694-1)/10 = .6769; connectors (1.0715-1)/1.2871 = .0556;
    # splitter (2.5119-1)/1.2012 = 1.2587; second (2.5119-1)/1.3478 = 1.1218;
    # leads (1.1465-1)/1.9038 = .0769; connectors (1.1092-1)/1.6606 = .0658: 5.4944 = 7.399 dB
    assert abs(noise_figure_db(stages) - 7.399) <= 0.002  # products rounded to four digits


def test_the_column_form_of_noise_says_the_same_as_friis() -> None:
    at = np.array([470e6, 500e6, 534e6])
    factors = noise_factor(chain(), at)
    for frequency, factor in zip(at, factors, strict=True):
        scalar = noise_figure_db([step.stage(float(frequency)) for step in chain()])
        assert abs(10 * math.log10(factor) - scalar) <= 1e-9


@pytest.mark.parametrize(
    ("distance_km", "at_antenna_dbm", "total_dbm"),
    [
        # 106.92 + 10 log 100 - 20 log d = 120.90 and 112.94 dB(uV/m); at 503 MHz
        # less 20 log 503 + 77.216 = 131.248: -10.35 and -18.31 dBm; antenna 6 dBi
        # two microphones of 10 dBm at 3 m (free space 35.43 and 36.54 dB at 470 and 534 MHz):
        # -19.43 and -20.54 dBm at the antenna; all 10 dB up: 3.673 + 0.114 + 0.088 mW = 5.88 dBm
        (2.0, -4.35, 5.88),
        # 0.5875 + 0.114 + 0.088 mW = -1.03 dBm
        (5.0, -12.31, -1.03),
    ],
)
def test_power_of_a_mast_at_2_and_5_km(
    distance_km: float, at_antenna_dbm: float, total_dbm: float
) -> None:
    air = mast(distance_km=distance_km, erp_kw=100.0, low_mhz=(500,))
    at = at_antenna(AERIAL, group(8), scene(air), SPEC)
    assert abs(float(at.tv_dbm[0]) - at_antenna_dbm) <= 0.01
    budget = examine(chain(), group(8), at)
    load = budget.loads[0]
    assert abs(load.total_dbm - total_dbm) <= 0.02  # levels above are rounded to 0.01 dB
    assert abs(load.margin_db - (14.0 - load.total_dbm)) <= 1e-9


@pytest.mark.parametrize(
    ("distance_km", "expected_dbm"),
    [
        # P = -4.35 and -4.45 dBm (503, 509 MHz); IIP3 27 - 10 = 17 dBm:
        # 2 x -4.35 - 4.45 - 34 + 3.01 (noise-like) = -44.14 dBm over three widths of 5.38 MHz;
        # in 200 kHz at the middle 3/4 x 0.2 / 5.38: -15.55 dB
        (2.0, -59.69),
        (5.0, -83.57),
    ],
)
def test_products_of_a_pair_at_2_and_5_km(distance_km: float, expected_dbm: float) -> None:
    air = mast(distance_km=distance_km, erp_kw=100.0, low_mhz=(500, 506))
    at = at_antenna(AERIAL, group(8), scene(air), SPEC)
    triples = triples_of(air.centre_hz, air.occupied_hz, [497_000_000], bandwidth_hz=200_000.0)
    amplitude = product_amplitude([Element(label="ten", part=TEN, flat_db=10.0)], at, group(8))
    assert amplitude is not None
    # the strongest channel comes first in the pick: 503 MHz is A, 509 MHz is B
    pair = next(
        k for k in range(len(triples.a)) if (triples.a[k], triples.b[k], triples.c[k]) == (0, 0, 1)
    )
    assert triples.middle_hz[pair] == 497e6
    assert triples.level_db[pair] == NOISE_LIKE_DB
    level = 2 * at.tv_dbm[0] + at.tv_dbm[1] + NOISE_LIKE_DB + 20 * math.log10(amplitude[pair])
    level += 10 * math.log10(triples.share[pair, 0])
    assert abs(level - expected_dbm) <= 0.02  # each level above is rounded to 0.01 dB


def test_products_along_a_chain_are_those_of_its_intercept() -> None:
    """Where every gain is flat, the parts added in phase are the cascaded intercept."""
    flat = [
        Element(label="ten", part=TEN, flat_db=10.0),
        Element(label="loss", flat_db=-9.0),
        Element(label="four", part=FOUR_BY_TWO, flat_db=1.5),
    ]
    air = mast(distance_km=2.0, erp_kw=100.0, low_mhz=(500, 506))
    at = at_antenna(AERIAL, group(8), scene(air), SPEC)
    amplitude = product_amplitude(flat, at, group(8))
    assert amplitude is not None
    intercept = iip3_dbm([step.stage(500e6) for step in flat])
    for value in amplitude:
        assert abs(-10 * math.log10(value) - intercept) <= 1e-9


def test_the_shape_of_a_product_holds_all_of_its_power() -> None:
    x = np.linspace(-2.0, 2.0, 400_001)
    total = float(product_shape(x).sum() * (x[1] - x[0]))
    assert abs(total - 1.0) <= 1e-6  # rectangles of 1e-5 widths
    assert float(product_shape(np.array([0.0]))[0]) == 0.75
    assert float(product_shape(np.array([1.5]))[0]) == 0.0


def test_an_antenna_turned_away_from_a_mast() -> None:
    """12 (50 / 100)^2 = 3 dB at half the width; the back takes off 14 dB."""
    found = antenna_pattern_db(
        np.array([0.0, 50.0, -50.0, 180.0]), beam_deg=100.0, front_to_back_db=14.0
    )
    assert found.tolist() == [0.0, -3.0, -3.0, -14.0]
    air = mast(distance_km=2.0, erp_kw=100.0, low_mhz=(500,), bearing_deg=90.0)
    away = HookupSpec(racks=SPEC.racks, antenna_azimuth_deg=270.0)
    at = at_antenna(AERIAL, group(8), scene(air), away)
    assert abs(float(at.tv_dbm[0]) - (-4.35 - 14.0)) <= 0.01
