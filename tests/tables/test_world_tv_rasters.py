"""Television rasters of 6, 7 and 8 MHz: runs, edges, formulas, and the collection itself."""

from __future__ import annotations

import csv
import itertools
from pathlib import Path

import pytest

from planner.rules.world_tables import world_raster
from planner.tables import read_table

TABLE = read_table("world_tv_rasters")
COLLECTION = (
    Path(__file__).resolve().parents[3] / "shared" / "reference" / "world" / "tv_rasters.csv"
)
CODES = sorted({*TABLE["country"]} - {"EU"})


def test_words() -> None:
    assert set(TABLE["width_mhz"]) == {"6", "7", "8"}
    assert set(TABLE["status"]) == {"confirmed", "from memory"}


@pytest.mark.parametrize("code", CODES)
def test_channels_ascend_without_overlap_and_their_labels_are_unique(code: str) -> None:
    channels = world_raster(code)
    assert channels
    assert all(a.high_hz <= b.low_hz for a, b in itertools.pairwise(channels))
    assert len({channel.label for channel in channels}) == len(channels)


@pytest.mark.parametrize("code", ["GB", "DE", "FR", "NL", "CH", "IE", "NZ", "AT"])
def test_centre_of_an_8_mhz_uhf_channel_is_306_plus_8_n(code: str) -> None:
    # GE06: bands IV and V in channels of 8 MHz, 21 centred at 474 MHz
    for channel in world_raster(code):
        centre_mhz = (channel.low_hz + channel.high_hz) / 2e6
        assert centre_mhz == 306 + 8 * int(channel.label)


def test_the_edges_of_each_raster() -> None:
    ends = {
        code: (world_raster(code)[0].low_hz / 1e6, world_raster(code)[-1].high_hz / 1e6)
        for code in ("GB", "DE", "AU", "JP", "BR", "CA", "NZ")
    }
    assert ends == {
        "GB": (470, 694),
        "DE": (470, 694),
        "AU": (174, 694),
        "JP": (470, 710),
        "BR": (174, 698),
        "CA": (54, 608),
        "NZ": (510, 622),
    }


def test_channel_38_is_no_television_in_great_britain_and_australia_has_a_9a() -> None:
    assert "38" not in {channel.label for channel in world_raster("GB")}
    assert "38" in {channel.label for channel in world_raster("DE")}
    (letter,) = [channel for channel in world_raster("AU") if channel.label == "9A"]
    assert (letter.low_hz, letter.high_hz) == (202_000_000, 209_000_000)


def test_japan_counts_one_less_than_america() -> None:
    assert world_raster("JP")[0].label == "13"
    assert world_raster("JP")[0].low_hz == 470_000_000


def test_a_country_of_nobody_has_no_raster() -> None:
    assert world_raster("AQ") == ()


def test_every_row_of_the_collection_but_the_digital_radio_band_is_carried() -> None:
    if not COLLECTION.is_file():
        pytest.skip("the collection that the table was made from is not beside the checkout")
    keys = ("first_channel", "last_channel", "first_low_mhz", "width_mhz")
    with COLLECTION.open(encoding="utf-8", newline="") as stream:
        given = {
            (row["country_iso2"], *(row[key] for key in keys)) for row in csv.DictReader(stream)
        }
    mine = set(zip(TABLE["country"], *(TABLE[key] for key in keys), strict=True))
    assert given - mine == {("EU", "5", "12", "174", "7")}
    assert mine - given == {("EU", "21", "48", "470", "8")}
