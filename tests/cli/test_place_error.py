"""The stops that hang on the venue's coordinates, in ``passband reach``."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING

import pytest

from planner.cli import main
from tests.unit.tour_files import NEED, OMAHA, TOUR_HEAD, write_tour

if TYPE_CHECKING:
    from pathlib import Path

MILWAUKEE = """
[[stop]]
place = "Milwaukee, WI, US"
date = 2027-03-09
"""


def test_reach_tells_in_one_line_what_coordinates_would_free(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(write_tour(tmp_path, TOUR_HEAD + OMAHA + MILWAUKEE + NEED))
    for more in ([], ["--json"]):
        monkeypatch.setattr(sys, "argv", ["passband", "reach", path, *more])
        with pytest.raises(SystemExit, match="0"):
            main()
    text, _, answer = capsys.readouterr().out.partition("\n{")
    lines = [line for line in text.splitlines() if "would free" in line]
    assert lines[0].startswith("The coordinates of the venue would free TV 14, 15,")
    assert all(len(line) <= 80 for line in text.splitlines())
    stops = json.loads("{" + answer)["stops"]
    assert [[row["channel"] for row in stop["verdicts_at_risk"]] for stop in stops] == [
        [],
        [14, 15],
    ]
