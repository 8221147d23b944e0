"""Wideband blocks: how many, who is in which, where they stand, what is said of their loss."""

from __future__ import annotations

from typing import Any

import pytest

from planner.coordination.blocks import block_products, links_headroom, wanted_blocks
from tests.unit.builders import gear, need, stop
from tests.unit.planning import document, planned

MHZ = 1_000_000
BLOCK = {
    "family": "Meadow",
    "low_hz": 470 * MHZ,
    "high_hz": 482 * MHZ,
    "tuning_origin_hz": 473 * MHZ,
    "step_hz": 25_000,
    "bandwidth_hz": 6 * MHZ,
    "spacing_hz": 6 * MHZ,
    "guard_2a_b_hz": 0,
    "guard_a_b_c_hz": 0,
    "modulation": "wideband",
    "links_per_block": 16,
    "powers_mw": (50.0,),
}


def dancers(count: int, **more: Any) -> Any:
    """Return a need of so many lines."""
    lines = tuple(f"D{number + 1}" for number in range(count))
    return need(**{"name": "dancers", "lines": lines, "count": count, "spares": 0, **more})


def codes(found: dict[str, Any]) -> set[str]:
    """Return the codes of the warnings that speak of blocks."""
    return {row["code"] for row in found["warnings"] if row["code"].startswith("block")}


def test_blocks_are_filled_in_the_order_of_lines_and_spares_have_blocks_of_their_own() -> None:
    found = wanted_blocks(dancers(20, spares=2), 16)
    assert [(block.name, len(block.holds), block.spare) for block in found] == [
        ("dancers block 1", 16, False),
        ("dancers block 2", 4, False),
        ("dancers spare block 1", 2, True),
    ]
    assert wanted_blocks(dancers(3, block_loss="second-block"), 16)[-1].spare
    assert len(wanted_blocks(dancers(3), 16)) == 1


@pytest.mark.parametrize(("blocks", "headroom"), [(3, 28), (2, 12), (1, -4), (0, -20)])
def test_headroom_is_in_links(blocks: int, headroom: int) -> None:
    assert links_headroom(dancers(20), 16, blocks) == headroom


def test_a_missing_second_block_is_missing_whatever_room_the_others_have() -> None:
    assert links_headroom(dancers(3, block_loss="second-block"), 16, 1) == -1


def test_spans_of_the_products_of_a_block() -> None:
    carriers = [(480, 1, 1), (489, 1, 1), (459, 1, 1)]
    found = {
        (row.kind, row.source_hz, row.victim_hz) for row in block_products([(470, 476)], carriers)
    }
    # 2 x 480 - [470, 476] = [484, 490] holds 489; 2 x [470, 476] - 480 = [460, 472]: 459 is its
    # guard of 1 away; 2 x [470, 476] - 489 = [451, 463] holds 459; 2 x 459 - block = [442, 448];
    # 2 x [470, 476] - 459 = [481, 493] holds 489, and 480 is its guard of 1 away
    assert found == {
        ("2C-block", 480, 489),
        ("2block-C", 489, 459),
        ("2block-C", 459, 489),
    }


def test_lines_share_the_block_and_carriers_keep_out_of_it() -> None:
    mics = need(name="vocals", lines=("Lead", "Bass"), count=2, gear=("Alder",))
    result = planned(
        needs=[mics, dancers(5, gear=("Meadow",))],
        ranges=[gear(low_hz=470_100_000, high_hz=481_900_000), gear(**BLOCK)],
    )
    record = document(result)["stops"][0]
    block = [row for row in record["carriers"] if row["need"] == "dancers"]
    assert [row["name"] for row in block] == ["D1", "D2", "D3", "D4", "D5"]
    assert len({(row["frequency_mhz"], row["block"]) for row in block}) == 1
    low, high = block[0]["block_low_mhz"], block[0]["block_high_mhz"]
    assert (low, high) in {(470.0, 476.0), (476.0, 482.0)}
    for row in record["carriers"]:
        if row["need"] == "vocals":
            # spacing 350 kHz from a carrier of 200 kHz just inside the edge
            outside = max(low - row["frequency_mhz"], row["frequency_mhz"] - high)
            assert round(outside, 6) >= 0.25
    assert record["short"] == []
    assert record["ranges"]["Meadow 470-482"]["carriers_found"] == 32


def test_without_a_whole_window_it_is_short_with_what_binds_and_a_cure() -> None:
    here = stop(exclude_hz=((472 * MHZ, 473 * MHZ), (479 * MHZ, 480 * MHZ)))
    result = planned(
        stops=[here],
        needs=[dancers(5)],
        ranges=[gear(**BLOCK), gear(low_hz=520_100_000, high_hz=521_000_000)],
    )
    # the ranking prefers what meets the need; a need of more than both can serve is short
    assert document(result)["choice"]["dancers"] != []
    only = planned(stops=[here], needs=[dancers(5)], ranges=[gear(**BLOCK)])
    (short,) = document(only)["stops"][0]["short"]
    assert (short["missing"], short["missing_blocks"]) == (5, 1)
    assert short["binding"].startswith("proven: whole windows for at most 0 of 1 blocks of 6 MHz")
    assert short["cures"][-1]["cure"] == "drop-stop"
    assert only.short_confirmed


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({}, {"block-loss-not-covered"}),
        ({"block_loss": "accept"}, {"block-loss-accepted"}),
        ({"block_loss": "second-block"}, set()),
        ({"spares": 1}, set()),
    ],
)
def test_the_loss_of_a_block_is_covered_accepted_or_warned_of(
    more: dict[str, Any], code: set[str]
) -> None:
    found = document(planned(needs=[dancers(5, **more)], ranges=[gear(**BLOCK)]))
    assert codes(found) == code
    blocks = found["stops"][0]["blocks"]
    channels = {row["low_mhz"] for row in blocks}
    assert len(channels) == len(blocks) == (2 if not code else 1)


def test_a_fallback_that_is_short_is_warned_of() -> None:
    rows = [
        gear(**BLOCK),
        gear(family="Elm", role="in-ear", low_hz=520_100_000, high_hz=520_200_000),
    ]
    other = need(name="ears", role="in-ear", lines=("A", "B", "C", "D", "E"), count=5)
    mine = dancers(5, block_loss="fallback", fallback="ears")
    found = document(planned(needs=[mine, other], ranges=rows))
    assert "block-fallback-short" in codes(found)


def test_a_second_run_keeps_the_blocks() -> None:
    plan = {"needs": [dancers(20, block_loss="second-block")]}
    ranges = [gear(**{**BLOCK, "high_hz": 506 * MHZ})]
    first = document(planned(ranges=ranges, **plan))
    again = document(planned(ranges=ranges, previous=first, **plan))
    assert first["stops"] == again["stops"]


def test_a_block_that_moves_retunes_all_its_links() -> None:
    free = [(470 + 6 * k, 476 + 6 * k) for k in range(2)]
    stops = [
        stop(
            id=name,
            exclude_hz=((low * MHZ, high * MHZ),),
            lat_deg=39.0 + number,
        )
        for number, (name, (low, high)) in enumerate(zip("ab", free, strict=True))
    ]
    found = document(planned(stops=stops, needs=[dancers(5)], ranges=[gear(**BLOCK)]))
    assert found["stops"][1]["retunes"]["lines"] == 5
    assert all(row["retuned"] and row["forced"] for row in found["stops"][1]["carriers"])
