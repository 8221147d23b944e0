"""View records of the demo against stored ones: what the sheets say, word for word.

A change of the plan or of a sheet shows here as a difference to read. When it is meant, write the
records afresh and look at what ``git diff`` shows: ``python tests/report/test_golden_views.py``.
"""

from __future__ import annotations

import dataclasses
import json
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from planner.report.files import stems
from planner.report.reading import playing_stops
from planner.report.views.buying import buying_view
from planner.report.views.crew import crew_view
from planner.report.views.hookup import hookup_view
from planner.report.views.page import page_view
from planner.report.views.stop import issue_line, paper_of, stop_view
from planner.report.views.transmitters import effects_view
from tests.cli.running import passband

if TYPE_CHECKING:
    from collections.abc import Mapping

GOLDEN = Path(__file__).with_name("golden")
STOP = "denver-1"
"""Two days, and more transmitters than any other stop of the demo."""


def demo_plan(folder: Path) -> dict[str, Any]:
    """Run the demo and return its plan."""
    answer = passband("demo", "--out", folder)
    assert answer.returncode == 0, answer.stderr
    plan: dict[str, Any] = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    return plan


def records(plan: Mapping[str, Any]) -> dict[str, Any]:
    """Return the view records by name of their file."""
    stop = next(stop for stop in playing_stops(plan) if stop["id"] == STOP)
    view = stop_view(plan, stop)
    page = page_view(plan, {key: f"{stem}.html" for key, stem in stems(plan).items()})
    hookup = hookup_view(
        plan["hookup"],
        title=plan["tour"]["name"],
        issue=issue_line(plan),
        paper=paper_of(plan),
    )
    return {
        "stop": view,
        "crew": crew_view(view.carriers),
        "transmitters": effects_view(plan, stop, view.unit),
        "buying": buying_view(plan),
        "hookup": hookup,
        "page": {**told(page), "map": {}, "stops": [told(row) for row in page.stops[:1]]},
    }


def told(value: object) -> Any:
    """Return a record as JSON would hold it, without what is empty."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        pairs = {field.name: getattr(value, field.name) for field in dataclasses.fields(value)}
        return told(pairs)
    if isinstance(value, dict):
        named = {str(key): told(part) for key, part in value.items()}
        return {key: part for key, part in named.items() if part not in ("", [], {}, None, False)}
    if isinstance(value, list | tuple | frozenset):
        return [told(part) for part in (sorted(value) if isinstance(value, frozenset) else value)]
    return value


def text(record: object) -> str:
    """Return a record as it is stored."""
    return json.dumps(told(record), indent=1, ensure_ascii=False) + "\n"


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return records(demo_plan(tmp_path_factory.mktemp("demo")))


def test_the_sheets_of_the_demo_say_what_they_said(found: dict[str, Any]) -> None:
    for name, record in found.items():
        stored = (GOLDEN / f"demo_{name}.json").read_text(encoding="utf-8")
        assert text(record).splitlines() == stored.splitlines(), name
    assert {path.stem for path in GOLDEN.glob("*.json")} == {f"demo_{name}" for name in found}


def main() -> None:
    """Write the records afresh."""
    with tempfile.TemporaryDirectory() as folder:
        for name, record in records(demo_plan(Path(folder))).items():
            (GOLDEN / f"demo_{name}.json").write_text(text(record), encoding="utf-8")


if __name__ == "__main__":
    main()
