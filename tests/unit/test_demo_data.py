"""The demo's station table is what its generator makes."""

from __future__ import annotations

from pathlib import Path

from planner.demo import FILES, demo_files
from tests.generators.demo_stations import text

ROOT = Path(__file__).resolve().parents[2]


def test_the_demos_stations_come_from_their_generator() -> None:
    assert (ROOT / "data" / "stations.csv").read_text(encoding="utf-8") == text()


def test_the_demos_files_are_all_there() -> None:
    with demo_files() as folder:
        assert {path.name for path in folder.iterdir()} >= set(FILES)
