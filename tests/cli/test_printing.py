"""Pages, tables and PDFs made by one process or two: the same bytes."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import TYPE_CHECKING, Any

import pytest

from planner import workers
from planner.cli import printing
from planner.report import render_all
from planner.report.pdf.files import render_pdfs
from tests.report.sample_plan import sample_plan

if TYPE_CHECKING:
    from collections.abc import Iterator


def fail(*_: object, **__: object) -> Any:
    raise BrokenProcessPool


@pytest.fixture(autouse=True)
def no_helper_left(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(workers, "cores", lambda: 2)
    yield
    workers.dismiss_helper()


def test_one_process_and_two_give_the_same_bytes() -> None:
    plan = sample_plan()
    workers.start_helper()
    assert workers.helper() is not None
    assert printing.rendered(plan, None) == {**render_all(plan), **render_pdfs(plan)}
    assert workers.helper() is not None


def test_a_machine_that_starts_no_second_process(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers, "ProcessPoolExecutor", fail)
    workers.start_helper()
    assert workers.helper() is None
    assert "sheets/buying.pdf" in printing.rendered(sample_plan(), None)


def test_a_helper_that_dies_is_replaced_by_this_process(monkeypatch: pytest.MonkeyPatch) -> None:
    workers.start_helper()
    monkeypatch.setattr(ProcessPoolExecutor, "submit", fail)
    assert "sheets/buying.pdf" in printing.rendered(sample_plan(), None)
    assert workers.helper() is None
