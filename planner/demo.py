"""Where the demo's files are: in the wheel, or beside the package in a checkout."""

from __future__ import annotations

import contextlib
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from planner.errors import PlannerError

if TYPE_CHECKING:
    from collections.abc import Iterator

FILES = ("tour.toml", "stations.csv", "stations.csv.coverage.toml", "gear.csv", "parts.csv")


@contextlib.contextmanager
def demo_files() -> Iterator[Path]:
    """Yield a folder that holds the demo's files, as a context manager.

    Raises
    ------
    PlannerError
        When the installation lacks them.
    """
    packaged = resources.files("planner") / "demo_data"
    if packaged.is_dir():
        with resources.as_file(packaged) as folder:
            yield folder
        return
    beside = Path(__file__).resolve().parent.parent / "data"
    if not (beside / "tour.toml").is_file():
        raise PlannerError("the demo's files are missing from this installation; install again")
    yield beside
