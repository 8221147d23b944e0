"""Levels between zones: what is left out is far under the floor, by the assumptions stated."""

from __future__ import annotations

import math

import pytest

from planner.field_strength.free_space import path_loss_db
from planner.plan.zones import (
    CONVERSION_LOSS_DB,
    INPUT_INTERCEPT_DBM,
    Losses,
    Zone,
    floor_dbm,
    left_out,
    product_dbm,
)
from planner.records import ZonePair

HZ = 500_000_000
STAGE = Zone(power_dbm=17.0, floor_dbm=-115.0)
TENT = Zone(power_dbm=10.0, floor_dbm=-118.0)
NEAR_DB = path_loss_db(0.003, HZ)
"""3 m in free space."""
EXACT_DB = 1e-9
"""The same sums in another order."""


def isolated(db: float) -> tuple[ZonePair, ...]:
    return (ZonePair(a="stage", b="tent", isolation_db=db),)


def test_loss_within_a_zone_is_three_metres_of_free_space() -> None:
    # 32.448 dB at 1 km and 1 MHz (ITU-R P.525-5); 20 log10(0.003) + 20 log10(500) = 3.522
    assert pytest.approx(32.448 - 50.458 + 53.979, abs=0.001) == NEAR_DB
    losses = Losses(isolated(90.0), HZ)
    assert losses.loss_db("stage", "stage") == NEAR_DB
    assert losses.loss_db("tent", "stage") == losses.loss_db("stage", "tent") == 90.0


def test_a_distance_counts_as_free_space_and_never_less_than_within_a_zone() -> None:
    told = Losses((ZonePair(a="stage", b="tent", distance_m=300.0),), HZ)
    assert told.loss_db("stage", "tent") == pytest.approx(NEAR_DB + 40.0, abs=EXACT_DB)
    close = Losses((ZonePair(a="stage", b="tent", distance_m=1.0),), HZ)
    assert close.loss_db("stage", "tent") == NEAR_DB


def test_a_product_in_the_receiver_of_two_distant_carriers() -> None:
    # 2 P_A + P_B - 2 IP3 with P = 10 - 60 dBm each; the transmitters' own product is weaker here
    zones = {"stage": STAGE, "tent": Zone(power_dbm=60.0)}
    level = product_dbm(zones, Losses(isolated(60.0), HZ), "stage", ("tent", "tent"))
    assert level == pytest.approx(3 * 0.0 - 2 * INPUT_INTERCEPT_DBM, abs=EXACT_DB)


def test_three_carriers_are_6_db_over_two() -> None:
    zones = {"stage": STAGE, "tent": Zone(power_dbm=60.0)}
    losses = Losses(isolated(60.0), HZ)
    two = product_dbm(zones, losses, "stage", ("tent", "tent"))
    three = product_dbm(zones, losses, "stage", ("tent", "tent", "tent"))
    assert three - two == pytest.approx(6.0, abs=EXACT_DB)


def test_a_product_in_a_transmitter_is_carried_to_the_victim() -> None:
    level = product_dbm(
        {"stage": STAGE, "tent": TENT}, Losses(isolated(120.0), HZ), "stage", ("tent", "tent")
    )
    assert level == pytest.approx(10.0 - NEAR_DB - CONVERSION_LOSS_DB - 120.0, abs=EXACT_DB)


def test_the_stronger_of_two_zones_counts_twice() -> None:
    zones = {"stage": STAGE, "tent": TENT}
    level = product_dbm(zones, Losses(isolated(100.0), HZ), "stage", ("stage", "tent"))
    in_receiver = 2 * (17.0 - NEAR_DB) + (10.0 - 100.0) - 2 * INPUT_INTERCEPT_DBM
    assert level == pytest.approx(in_receiver, abs=EXACT_DB)


def test_only_what_is_ten_db_under_the_floor_is_left_out() -> None:
    # in the tent's transmitters: 10 - 35.97 - 10 - L dBm at the stage, floor -115 dBm
    edge_db = 115.0 + 10.0 + 10.0 - NEAR_DB - CONVERSION_LOSS_DB
    over = left_out({"stage": STAGE, "tent": TENT}, isolated(edge_db + 0.1), frequency_hz=HZ)
    under = left_out({"stage": STAGE, "tent": TENT}, isolated(edge_db - 0.1), frequency_hz=HZ)
    assert ("stage", ("tent", "tent")) in {(row.victim, row.sources) for row in over}
    assert ("stage", ("tent", "tent")) not in {(row.victim, row.sources) for row in under}
    assert all(row.under_floor_db >= 10.0 for row in (*over, *under))


def test_more_isolation_never_leaves_less_out() -> None:
    before: set[tuple[str, tuple[str, ...]]] = set()
    sizes = []
    for db in range(0, 200, 10):
        rows = left_out({"stage": STAGE, "tent": TENT}, isolated(float(db)), frequency_hz=HZ)
        now = {(row.victim, row.sources) for row in rows}
        assert before <= now
        before = now
        sizes.append(len(now))
    assert sizes[0] == 0
    assert sizes[-1] == 10  # each way: two or three sources, all but those of the victim's alone


def test_nothing_is_left_out_of_zones_of_which_nothing_is_told() -> None:
    zones = {"stage": STAGE, "tent": TENT, "gate": TENT}
    rows = left_out(zones, isolated(200.0), frequency_hz=HZ)
    assert rows
    assert not any("gate" in (row.victim, *row.sources) for row in rows)


def test_a_zones_own_products_are_never_left_out() -> None:
    weak = Zone(power_dbm=-150.0, floor_dbm=-100.0)
    rows = left_out({"stage": weak, "tent": TENT}, isolated(200.0), frequency_hz=HZ)
    assert not any(set(row.sources) == {row.victim} for row in rows)


def test_zones_without_senders_or_without_receivers() -> None:
    silent = {"stage": Zone(floor_dbm=-115.0), "tent": Zone(power_dbm=10.0)}
    rows = left_out(silent, isolated(200.0), frequency_hz=HZ)
    assert {row.victim for row in rows} == {"stage"}
    assert {name for row in rows for name in row.sources} == {"tent"}


def test_the_floor_by_noise_figure_or_by_sensitivity() -> None:
    # k T B at 290 K in 200 kHz is -120.965 dBm
    given = floor_dbm(200_000, noise_figure_db=4.0, default_noise_figure_db=6.0)
    assert given == pytest.approx(-116.965, abs=0.001)
    known = floor_dbm(
        200_000,
        noise_figure_db=None,
        sensitivity_dbm=-95.0,
        required_snr_db=20.0,
        default_noise_figure_db=6.0,
    )
    assert known == -115.0
    unknown = floor_dbm(200_000, noise_figure_db=None, default_noise_figure_db=6.0)
    assert unknown == pytest.approx(given + 2.0, abs=EXACT_DB)
    assert math.isfinite(unknown)


def test_the_sentence_names_zones_and_level() -> None:
    rows = left_out({"stage": STAGE, "tent": TENT}, isolated(180.0), frequency_hz=HZ)
    texts = [row.text() for row in rows]
    assert any("products of two carriers of tent alone are left out in stage" in t for t in texts)
    assert any("three carriers between stage and tent" in text for text in texts)
