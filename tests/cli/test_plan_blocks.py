"""The main job with wideband blocks in the catalogue, on the demo's invented tour."""

from __future__ import annotations

import csv
import itertools
import json
from typing import TYPE_CHECKING

from tests.cli.running import copy_of_demo, passband

if TYPE_CHECKING:
    from pathlib import Path

NEED = """
[[need]]
name = "dancers"
role = "pack"
lines = ["Ann", "Bea"]
count = 20
block_loss = "second-block"
"""
ROW = {
    "family": "Meadow",
    "role": "pack",
    "low_mhz": "470",
    "high_mhz": "608",
    "step_khz": "1000",
    "bandwidth_khz": "6000",
    "spacing_khz": "6000",
    "modulation": "wideband",
    "powers_mw": "10;50",
    "power_kind": "EIRP",
    "status": "current",
    "links_per_block": "16",
}


def test_blocks_of_sixteen_links_are_planned_beside_carriers(tmp_path: Path) -> None:
    tour = copy_of_demo(tmp_path / "tour")
    tour.write_text(tour.read_text("utf-8") + NEED, encoding="utf-8")
    with (tour.parent / "gear.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    with (tour.parent / "gear.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, [*rows[0], "links_per_block"])
        writer.writeheader()
        writer.writerows([*rows, ROW])
    run = passband("plan", tour, "--out", tmp_path / "out")
    # a strong neighbour leaves Denver no third whole channel beside the other needs
    assert run.returncode == 3, run.stderr
    found = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    again = passband("plan", tour, "--out", tmp_path / "out")
    assert again.returncode == 3, again.stderr
    second = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    assert second["stops"] == found["stops"]
    for stop in found["stops"]:
        lines = [row for row in stop["carriers"] if row["need"] == "dancers" and not row["spare"]]
        assert len(lines) == 20
        blocks = stop["blocks"]
        spare = [] if stop["id"] == "denver-1" else [1]
        assert [len(row["names"]) for row in blocks] == [16, 4, *spare]
        assert [(row["need"], row["missing"]) for row in stop["short"]] == (
            [] if spare else [("dancers", 1)]
        )
        (page,) = (tmp_path / "out" / "sheets").glob(f"*_{stop['id']}.html")
        edges = {f"block {row['low_mhz']:g}\N{EN DASH}{row['high_mhz']:g}" for row in blocks}
        assert all(words in page.read_text(encoding="utf-8") for words in edges)
        channels = {(row["low_mhz"], row["high_mhz"]): row for row in stop["channels"]}
        for row in blocks:
            channel = channels[row["low_mhz"], row["high_mhz"]]  # whole, in one TV channel
            assert (channel["air"], channel["law"]) == ("quiet", "lawful")
            assert not any(
                row["low_mhz"] < carrier["frequency_mhz"] < row["high_mhz"]
                for carrier in stop["carriers"]
                if "block" not in carrier
            )
        for one, two in itertools.combinations(blocks, 2):
            assert one["high_mhz"] <= two["low_mhz"] or two["high_mhz"] <= one["low_mhz"]
