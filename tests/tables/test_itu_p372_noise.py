"""Constants of external noise: typed a second time, and ordered as they must be."""

from __future__ import annotations

import numpy as np

from planner.field_strength.external_noise import HIGHEST_HZ, external_noise_db, man_made_noise_db
from planner.tables import read_table

SECOND_TYPING = {
    "city": (76.8, 27.7),
    "residential": (72.5, 27.7),
    "rural": (67.2, 27.7),
    "galactic": (52.0, 23.0),
}


def test_constants_as_typed_a_second_time() -> None:
    table = read_table("itu_p372_noise")
    found = {
        name: (float(c), float(d))
        for name, c, d in zip(
            table["environment"], table["c_db"], table["d_db_per_decade"], strict=True
        )
    }
    assert found == SECOND_TYPING


def test_the_line_ends_where_the_planner_says_it_is_extrapolated() -> None:
    assert {float(cell) * 1e6 for cell in read_table("itu_p372_noise")["high_mhz"]} == {HIGHEST_HZ}


def test_a_city_is_noisier_than_a_town_and_a_town_than_the_country() -> None:
    frequency_hz = np.array([54e6, 100e6, 200e6, 600e6])
    city, town, country = (
        np.asarray(man_made_noise_db(frequency_hz, word))
        for word in ("city", "residential", "rural")
    )
    assert (city > town).all()
    assert (town > country).all()
    assert (np.diff(external_noise_db(frequency_hz, "rural")) < 0).all()
