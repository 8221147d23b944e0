"""The command ``pack``: contract, exit codes, bad input, and its own example."""

from __future__ import annotations

import json
import shlex
from collections.abc import Callable
from typing import Any

import pytest

from planner.cli import main
from planner.coordination import GuardSet, PlacedCarrier, violations

Run = Callable[..., tuple[int, str, str]]

WINDOWS = ("--windows", "470-476,500.1-511.9", "--step", "25", "--spacing", "350")
GUARDS = ("--guard-2a-b", "100", "--guard-a-b-c", "100", "--guard-3a-2b", "0")
ROW = GuardSet(spacing_hz=350_000, guard_2a_b_hz=100_000, guard_a_b_c_hz=100_000)


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command line; return exit code, stdout, stderr."""

    def call(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["passband", "pack", *arguments])
        with pytest.raises(SystemExit) as stopped:
            main()
        captured = capsys.readouterr()
        return int(stopped.value.code or 0), captured.out, captured.err

    return call


def answer(run: Run, *arguments: str) -> dict[str, Any]:
    code, out, err = run(*arguments, "--json")
    assert (code, err) == (0, "")
    document: dict[str, Any] = json.loads(out)
    return document


def test_contract(run: Run) -> None:
    found = answer(run, *WINDOWS, *GUARDS, "--fixed", "505.0")
    assert list(found)[:5] == ["carriers_hz", "found", "limit", "proven", "steps"]
    assert len(found["nearest_products"]) == found["found"]
    carriers = found["carriers_hz"]
    assert carriers == sorted(set(carriers))
    assert found["found"] == len(carriers) >= 14
    assert isinstance(found["limit"], int)
    assert found["limit"] >= found["found"]
    assert found["proven"] == (found["limit"] == found["found"])
    assert found["steps"] <= 150_000
    assert 505_000_000 in carriers
    for hz in carriers:
        assert hz % 25_000 == 0
        assert 470_000_000 <= hz <= 476_000_000 or 500_100_000 <= hz <= 511_900_000
    assert violations([PlacedCarrier(frequency_hz=hz, guards=ROW) for hz in carriers]) == ()


def test_windows_are_closed_and_hold_centres(run: Run) -> None:
    found = answer(run, "--windows", "500-500,501-501.35", "--step", "350", "--spacing", "350")
    # whole multiples of 350 kHz from 0 Hz: 500.15 and 501.2 MHz, one of them in a window
    assert found["carriers_hz"] == [501_200_000]
    moved = answer(
        run,
        *("--windows", "500-500,501-501.4", "--step", "350", "--spacing", "350"),
        *("--origin", "500"),
    )
    assert moved["carriers_hz"] == [500_000_000, 501_050_000, 501_400_000]
    assert moved["proven"] is True


def test_same_input_same_bytes_and_steps_bind(run: Run) -> None:
    options = (*WINDOWS, *GUARDS, "--steps", "500", "--seed", "3", "--json")
    first, second = run(*options), run(*options)
    assert first == second
    assert json.loads(first[1])["steps"] <= 500


def test_overlapping_windows_are_merged(run: Run) -> None:
    one = answer(run, "--windows", "500-503", "--step", "25", "--spacing", "350")
    two = answer(run, "--windows", "501-503,500-502", "--step", "25", "--spacing", "350")
    assert one == two


def test_seconds_search_by_the_clock(run: Run) -> None:
    found = answer(run, *WINDOWS, *GUARDS, "--seconds", "0.3")
    assert found["found"] >= 13
    assert found["steps"] > 13


def test_count_stops_and_fixed_carriers_count(run: Run) -> None:
    found = answer(run, *WINDOWS, *GUARDS, "--count", "5", "--fixed", "505.0,507")
    assert found["found"] == 5
    assert {505_000_000, 507_000_000} <= set(found["carriers_hz"])
    assert found["steps"] == 3


def test_fewer_than_wanted_is_exit_3_and_json_all_the_same(run: Run) -> None:
    options = ("--windows", "500-501", "--step", "25", "--spacing", "350")
    code, out, err = run(*options, "--count", "4", "--json")
    assert code == 3
    assert json.loads(out)["found"] == 3
    assert "4 carriers wanted, 3 found, proven upper bound 3" in err


def test_clashing_fixed_carriers_are_warnings(run: Run) -> None:
    code, out, err = run(*WINDOWS, *GUARDS, "--fixed", "505.0,505.1", "--json")
    assert code == 0
    assert "warning: fixed carriers: 505.000 and 505.100 MHz are 100 kHz apart" in err
    found = json.loads(out)
    assert {505_000_000, 505_100_000} <= set(found["carriers_hz"])
    assert found["limit"] >= found["found"]


def test_fixed_may_stand_outside_windows_and_off_the_raster(run: Run) -> None:
    found = answer(run, *WINDOWS, *GUARDS, "--fixed", "600.012345")
    assert 600_012_345 in found["carriers_hz"]
    assert (
        violations([PlacedCarrier(frequency_hz=hz, guards=ROW) for hz in found["carriers_hz"]])
        == ()
    )


def test_table_fits_80_columns(run: Run) -> None:
    code, out, err = run(*WINDOWS, *GUARDS, "--steps", "200")
    assert (code, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 80
    assert "proven upper bound" in out
    assert "Carriers [MHz]" in out


@pytest.mark.parametrize(
    ("option", "value", "message"),
    [
        ("--windows", "476-470", "--windows; got 476-470; allowed: low not above high"),
        ("--windows", "470", "--windows; got 470; allowed: LOW-HIGH in MHz"),
        ("--windows", "470-x", "--windows; got x; allowed: a number in MHz"),
        ("--windows", "470-476,", "--windows; got an empty one"),
        ("--windows", "470-476.0000001", "at most 6 decimals; nothing finer than 1 Hz"),
        ("--windows", "470.001-470.002", "allowed: windows that hold a point of the raster"),
        ("--windows", "470-2000000", "at most 1,000,000 MHz"),
        ("--windows", "", "--windows; allowed: LOW-HIGH in MHz"),
        ("--step", "0", "--step; got 0; allowed: a raster above 0 kHz"),
        ("--step", "", "--step; allowed: a number in kHz"),
        ("--step", "0.001", "--step; got 0.001; allowed: at most 2,000,000 points"),
        ("--step", "0.0001", "at most 3 decimals; nothing finer than 1 Hz"),
        ("--spacing", "-350", "--spacing; got -350; allowed: a number in kHz, 0 or more"),
        ("--spacing", "", "--spacing; allowed: a number in kHz"),
        ("--guard-2a-b", "-1", "--guard-2a-b; got -1"),
        ("--guard-a-b-c", "nan", "--guard-a-b-c; got nan"),
        ("--guard-3a-2b", "1e3", "--guard-3a-2b; got 1e3"),
        ("--fixed", "505,505.0", "--fixed; got 505.0; allowed: each carrier once"),
        ("--fixed", "505,", "--fixed; allowed: a number in MHz"),
        ("--origin", "x", "--origin; got x"),
        ("--count", "0", "--count; got 0; allowed: a whole number, 1 or more"),
        ("--count", "2.5", "--count; got 2.5"),
        ("--steps", "0", "--steps; got 0"),
        ("--seconds", "0", "--seconds; got 0; allowed: a time above 0 s"),
        ("--seed", "-1", "--seed; got -1"),
    ],
)
def test_bad_input_is_one_line(run: Run, option: str, value: str, message: str) -> None:
    options = dict(zip((*WINDOWS, *GUARDS)[::2], (*WINDOWS, *GUARDS)[1::2], strict=True))
    options[option] = value
    code, out, err = run(*[f"{key}={text}" for key, text in options.items()])
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert err.startswith("command line: ")
    assert message in err


def test_every_fault_at_once(run: Run) -> None:
    code, _, err = run("--windows", "476-470,x", "--step", "0", "--steps", "1", "--seconds", "1")
    assert code == 2
    assert [line.split(";")[0].removeprefix("command line: ") for line in err.splitlines()] == [
        "--step",
        "--windows",
        "--windows",
        "--spacing",
        "--seconds",
    ]


def test_help_shows_an_example_that_runs(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    code, out, _ = run("--help")
    assert code == 0
    example = out.split("Example: ")[1].split("│")[0].splitlines()[0]
    words = shlex.split(example)
    assert words[:2] == ["passband", "pack"]
    assert answer(run, *words[2:])["found"] > 10
