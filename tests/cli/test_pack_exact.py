"""``passband pack --exact``: the solver finishes small cases, or says why it cannot."""

from __future__ import annotations

import importlib
import importlib.util
import json
from typing import Any

import pytest

from planner.cli import main

needs_solver = pytest.mark.skipif(
    importlib.util.find_spec("ortools") is None,
    reason="the extra exact (OR-Tools) is not installed",
)
SMALL = ("--windows", "470-473", "--step", "25", "--spacing", "350", "--guard-2a-b", "100")
CROSS = ("--guard-a-b-c", "100")


def run(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *arguments: str
) -> tuple[int, str, str]:
    monkeypatch.setattr("sys.argv", ["passband", "pack", *arguments])
    with pytest.raises(SystemExit) as stopped:
        main()
    captured = capsys.readouterr()
    return int(stopped.value.code or 0), captured.out, captured.err


@needs_solver
def test_the_solver_proves_what_the_search_leaves_open(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = (*SMALL, *CROSS, "--steps", "3", "--json")
    before = json.loads(run(monkeypatch, capsys, *asked)[1])
    code, out, err = run(monkeypatch, capsys, *asked, "--exact", "30")
    assert (code, err) == (0, "")
    after: dict[str, Any] = json.loads(out)
    assert not before["proven"]
    assert after["proven"]
    assert before["found"] < after["found"] == len(after["carriers_hz"]) == after["limit"] == 6


@needs_solver
def test_count_still_stops(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = (*SMALL, *CROSS, "--steps", "3", "--count", "5", "--fixed", "470.5", "--json")
    code, out, err = run(monkeypatch, capsys, *asked, "--exact", "30")
    assert (code, err) == (0, "")
    found = json.loads(out)
    assert found["found"] == 5
    assert 470_500_000 in found["carriers_hz"]


def test_a_missing_solver_is_one_line_and_exit_2(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    true_import = importlib.import_module

    def without(name: str, package: str | None = None) -> Any:
        if name.startswith("ortools"):
            raise ModuleNotFoundError(name)
        return true_import(name, package)

    monkeypatch.setattr(importlib, "import_module", without)
    code, out, err = run(monkeypatch, capsys, *SMALL, *CROSS, "--steps", "3", "--exact", "1")
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert "--exact" in err
    assert "pip install 'passband[exact]'" in err


@needs_solver
def test_windows_too_wide_for_the_solver_are_a_fault(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ("--windows", "470-608", *SMALL[2:], "--steps", "3", "--exact", "1")
    code, out, err = run(monkeypatch, capsys, *asked)
    assert (code, out) == (2, "")
    assert "5521 free centres are too many" in err


@pytest.mark.parametrize("text", ["0", "-1", "soon"])
def test_a_time_that_is_none(
    text: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = run(monkeypatch, capsys, *SMALL, "--exact", text)
    assert code == 2
    assert "--exact" in err
