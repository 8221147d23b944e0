"""Pages, tables and PDFs made by one process or two: the same bytes."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any

import pytest

from planner.cli import printing
from planner.report import render_all
from planner.report.pdf.files import render_pdfs
from tests.report.sample_plan import sample_plan


def fail(*_: object, **__: object) -> Any:
    raise BrokenProcessPool


@pytest.mark.parametrize("can_start", [True, False])
def test_one_process_and_two_give_the_same_bytes(
    monkeypatch: pytest.MonkeyPatch, *, can_start: bool
) -> None:
    """A machine that starts no second process makes everything in one."""
    plan = sample_plan()
    asked: list[int] = []

    class Counted(ProcessPoolExecutor):
        def __init__(self, *args: Any, **more: Any) -> None:
            asked.append(1)
            super().__init__(*args, **more)

    monkeypatch.setattr(printing, "WORTH_A_PROCESS", 1)
    monkeypatch.setattr(printing, "_cores", lambda: 2)
    monkeypatch.setattr(printing, "ProcessPoolExecutor", Counted if can_start else fail)
    found = printing.rendered(plan, None)
    assert found == {**render_all(plan), **render_pdfs(plan)}
    assert asked == [1] * can_start


def test_a_short_tour_stays_in_one_process(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(printing, "ProcessPoolExecutor", fail)
    assert "sheets/buying.pdf" in printing.rendered(sample_plan(), None)
