"""Working range: fading, loss, the receiver of a row, and which channel comes out better."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from planner.field_strength.external_noise import system_noise_figure_db
from planner.field_strength.free_space import path_loss_db
from planner.field_strength.noise import thermal_noise_dbm
from planner.field_strength.working_range import (
    LinkAssumptions,
    fading_allowance_db,
    link_loss_db,
    working_range_m,
)
from planner.occupancy.receiver import (
    CarrierLink,
    carrier_range_m,
    carrier_rise_db,
    receiver_of,
    surroundings,
)
from planner.occupancy.records import AirSpan, Occupancy, Reason
from planner.records import Settings
from planner.rules import StopFacts
from tests.unit.builders import gear, stop


def test_fading_allowance_by_hand_and_by_draws() -> None:
    assert abs(fading_allowance_db(99.0, 1) - -10 * math.log10(-math.log(0.99))) <= 1e-9
    assert abs(fading_allowance_db(99.0, 1) - 20.0) <= 0.05  # as people round it
    assert abs(fading_allowance_db(99.0, 2) - 9.8) <= 0.05
    powers = np.random.default_rng(1).exponential(size=(400_000, 2)).max(axis=1)
    served = (powers >= 10 ** (-fading_allowance_db(99.0, 2) / 10)).mean()
    assert abs(served - 0.99) <= 0.001  # six standard errors of 400,000 draws


@pytest.mark.parametrize(("percent", "branches"), [(0.0, 1), (100.0, 1), (99.0, 0)])
def test_fading_refuses(percent: float, branches: int) -> None:
    with pytest.raises(ValueError, match="one branch or more"):
        fading_allowance_db(percent, branches)


def test_loss_is_free_space_to_5_m_and_steeper_beyond() -> None:
    for distance_m in (0.5, 5.0):
        loss = link_loss_db(distance_m, 600e6, far_exponent=2.7)
        assert abs(loss - path_loss_db(distance_m / 1e3, 600e6)) <= 1e-9
    beyond = link_loss_db(50.0, 600e6, far_exponent=2.7) - link_loss_db(
        5.0, 600e6, far_exponent=2.7
    )
    assert abs(beyond - 27.0) <= 1e-9


@pytest.mark.parametrize("distance_m", [0.5, 4.9, 5.0, 12.0, 149.0, 3000.0])
def test_there_and_back(distance_m: float) -> None:
    loss = link_loss_db(distance_m, 530e6, far_exponent=2.7)
    assert abs(working_range_m(loss, 530e6, far_exponent=2.7) / distance_m - 1) <= 1e-9
    assert working_range_m(-60.0, 530e6, far_exponent=2.7) == 0.0


def occupancy(
    rise_db: float | None = 0.0, *, code: str = "none-listed"
) -> tuple[Occupancy, AirSpan]:
    span = AirSpan(
        low_hz=54_000_000,
        high_hz=608_000_000,
        air="quiet",
        coverage="full",
        table_possible=True,
        noise_rise_db=rise_db,
        reasons=(Reason(code=code, text=""),),
    )
    facts = StopFacts(country="US", lat_deg=39.0, lon_deg=-99.0, protected={}, licences=())
    return Occupancy(stop_id="here", spans=(span,), channels=(), facts=facts), span


def link(**more: object) -> CarrierLink:
    values: dict[str, object] = {
        "power_mw": 50.0,
        "form": "hand-held",
        "role": "mic",
        "stop": stop(people_near=500_000),
        "settings": Settings(),
    }
    return CarrierLink(**{**values, **more})  # type: ignore[arg-type]


KNOWN = gear(noise_figure_db=4.0, required_snr_db=20.0, low_hz=54_100_000)


def range_at(mhz: float, rise_db: float = 0.0, row: object = KNOWN, **more: object) -> float:
    found, span = occupancy(rise_db)
    hz = round(mhz * 1e6)
    metres, why = carrier_range_m(
        row,  # type: ignore[arg-type]
        found,
        air=span,
        span_hz=(hz - 100_000, hz + 100_000),
        link=link(**more),
    )
    assert metres is not None, why
    return metres


def test_range_by_hand() -> None:
    """50 mW, 6 dB body, 9.8 dB fading, noise of a city at 600 MHz, 20 dB SNR, exponent 2.7."""
    floor_dbm = thermal_noise_dbm(
        200e3, system_noise_figure_db(600e6, noise_figure_db=4.0, environment="city")
    )
    margin = 10 * math.log10(50) - 6 - fading_allowance_db(99, 2) - floor_dbm - 20
    expected = 5 * 10 ** ((margin - path_loss_db(0.005, 600e6)) / 27)
    assert abs(range_at(600.0) - expected) <= 0.5  # metres are whole


def test_noise_sets_vhf_and_uhf_apart() -> None:
    """Without external noise low VHF would reach farther than UHF; with it it does not gain."""
    rural, city = ({"stop": stop(people_near=people)} for people in (0, 500_000))
    assert range_at(60.0, **city) < range_at(60.0, **rural)
    loss_db = 20 * math.log10(600 / 60)  # what free space gives the lower frequency
    noise_db = [
        system_noise_figure_db(hz, noise_figure_db=4.0, environment="city") for hz in (60e6, 600e6)
    ]
    expected = 10 ** ((loss_db - (noise_db[0] - noise_db[1])) / 27)
    assert abs(range_at(60.0) / range_at(600.0) - expected) <= 0.01
    assert expected < 1.0


def test_interference_power_and_form_shorten_it() -> None:
    clean = range_at(500.0)
    assert range_at(500.0, 6.0) < clean
    assert range_at(500.0, power_mw=10.0) < clean
    assert range_at(500.0, form="body-worn") < clean < range_at(500.0, form="rack")
    assert range_at(500.0, role="in-ear", form="rack") < range_at(500.0, form="body-worn")
    assert range_at(500.0, settings=Settings(range_exponent=4.0)) < clean


def test_unknown_figures_give_no_range_and_say_why() -> None:
    found, span = occupancy()
    where = {"span_hz": (500_000_000, 500_200_000)}
    for row, air, more, why in (
        (gear(noise_figure_db=4.0), span, {}, "gives no required_snr_db for Alder"),
        (None, span, {}, "somebody else's receiver"),
        (KNOWN, span, {"power_mw": None}, "no power setting is lawful"),
        (KNOWN, dataclasses.replace(span, noise_rise_db=None), {}, "interference is not known"),
        (KNOWN, None, {}, "interference is not known"),
    ):
        metres, said = carrier_range_m(row, found, air=air, link=link(**more), **where)  # type: ignore[arg-type]
        assert metres is None
        assert why in said


def test_rise_by_the_row_s_own_figures() -> None:
    """A rise of 6 dB at 6 dB noise figure is I/N 4.74 dB; at 4 dB it is 2 dB more."""
    found, span = occupancy(6.0)
    where = {"air": span, "span_hz": (500_000_000, 500_200_000), "settings": Settings()}
    assert carrier_rise_db(None, found, **where) == 6.0  # type: ignore[arg-type]
    over_db = 10 * math.log10(10**0.6 - 1) + 2.0
    expected = 10 * math.log10(1 + 10 ** (over_db / 10))
    assert abs((carrier_rise_db(KNOWN, found, **where) or 0.0) - expected) <= 0.05  # type: ignore[arg-type]


def test_noise_figure_from_sensitivity() -> None:
    row = gear(sensitivity_dbm=-95.0, required_snr_db=20.0)
    found = receiver_of(row, Settings())
    assert found.source == "sensitivity"
    assert abs(found.noise_figure_db - (-95 - 20 + 120.965)) <= 1e-3  # kTB is given to 0.001 dB
    assert receiver_of(gear(), Settings()).source == "reference"


def test_surroundings_follow_the_setting_then_the_people() -> None:
    where = stop(people_near=20_000)
    assert surroundings(where, Settings()) == "residential"
    assert surroundings(where, Settings(noise_environment="rural")) == "rural"
    assert surroundings(stop(), Settings()) == "city"  # not known: the noisiest


def test_assumed_body_of_an_unknown_form() -> None:
    assert LinkAssumptions().body_loss_db("") == LinkAssumptions().body_worn_loss_db
