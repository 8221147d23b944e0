"""The strict reader of the parts catalogue."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from planner.errors import InputFaults
from planner.intake.parts import COLUMNS, load_parts
from planner.records.hookup import PART_KINDS
from tests.unit.hookup_cases import demo_parts

if TYPE_CHECKING:
    from pathlib import Path

GOOD = {"part": "a part", "kind": "antenna", "gain_dbi": "6"}


def save(folder: Path, *rows: dict[str, str]) -> Path:
    path = folder / "parts.csv"
    lines = [",".join(COLUMNS)]
    lines += [",".join(row.get(column, "") for column in COLUMNS) for row in rows]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def faults_of(folder: Path, *rows: dict[str, str]) -> list[str]:
    with pytest.raises(InputFaults, match=r"parts\.csv") as caught:
        load_parts(save(folder, *rows), name="parts.csv")
    return [fault.line() for fault in caught.value.faults]


def test_the_demos_parts_are_of_every_kind_but_a_supply() -> None:
    kinds = {part.kind for part in demo_parts()}
    assert kinds == set(PART_KINDS) - {"supply"}
    cable = next(part for part in demo_parts() if part.name == "RG-213/U")
    assert (cable.cable_a, cable.cable_b) == (0.6165, 0.00669)
    assert cable.lengths_m == (10.0, 20.0, 30.0, 50.0, 100.0)
    assert (cable.low_hz, cable.high_hz) == (30_000_000, 1_000_000_000)
    four = next(part for part in demo_parts() if part.name == "Splitter 4x2")
    assert (four.ways, four.branches, four.cascade_ports, four.active) == (4, 2, 1, True)


def test_a_cable_from_one_printed_figure(tmp_path: Path) -> None:
    row = {"part": "own", "kind": "cable", "loss_db_100m": "20", "loss_mhz": "400"}
    (cable,) = load_parts(save(tmp_path, row))
    assert cable.cable_a == 1.0  # 20 dB at 400 MHz: the root of 400 is 20
    assert cable.cable_b == 0.0


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ({"kind": "antena"}, 'did you mean "antenna"?'),
        ({"gain_dbi": ""}, "column gain_dbi; got an empty cell"),
        ({"gain_dbi": "60"}, "a number from -20 to 25 dBi"),
        ({"low_mhz": "470"}, "both limits or none"),
        ({"low_mhz": "600", "high_mhz": "500"}, "low_mhz below high_mhz"),
        (
            {"kind": "cable", "loss_db_100m": "0.01", "loss_mhz": "500"},
            "no cable is like that: check the unit",
        ),
        (
            {"kind": "cable", "loss_db_100m": "499", "loss_mhz": "100"},
            "0.3 to 150 dB per 100 m at 100 MHz; this gives 499",
        ),
        ({"kind": "cable", "loss_db_100m": "-3", "loss_mhz": "100"}, "above 0 and up to 500"),
        ({"kind": "cable", "cable_type": "RG-85"}, 'did you mean "RG-8X"?'),
        ({"kind": "cable"}, "a general type, or loss_db_100m with loss_mhz"),
        (
            {"kind": "splitter", "ways": "4", "gain_db": "-3"},
            "-6.0 dB or less: 4 ways without an amplifier",
        ),
        ({"kind": "splitter", "ways": "1", "gain_db": "-3"}, "column ways; got 1; allowed: 2"),
        ({"kind": "attenuator", "gain_db": "3"}, "0 dB or less without a noise figure"),
        ({"kind": "amplifier", "gain_db": "10"}, "column noise_figure_db; got an empty cell"),
        ({"kind": "amplifier", "noise_figure_db": "3"}, "more than 0 dB for an amplifier"),
        ({"kind": "filter", "rejection_db": "30", "skirt_mhz": "5"}, "the band that a filter"),
        ({"kind": "fibre"}, "a figure for a fibre link"),
        (
            {"kind": "amplifier", "gain_db": "9", "noise_figure_db": "3", "p1db_dbm": "20"}
            | {"oip3_dbm": "15"},
            "above p1db_dbm 20 dBm",
        ),
        ({"line_power": "take"}, "needs / gives / passes"),
    ],
)
def test_a_fault_says_what_is_allowed(tmp_path: Path, row: dict[str, str], expected: str) -> None:
    assert any(expected in line for line in faults_of(tmp_path, {**GOOD, **row}))


def test_every_fault_of_the_file_comes_at_once(tmp_path: Path) -> None:
    lines = faults_of(tmp_path, {**GOOD, "gain_dbi": "x"}, GOOD, {**GOOD, "kind": "load"})
    assert len(lines) == 3
    assert "row 2 has it" in lines[1]


def test_a_table_without_a_row_is_a_fault(tmp_path: Path) -> None:
    (line,) = faults_of(tmp_path)
    assert "at least one part" in line


def test_a_cell_that_was_refused_is_told_once(tmp_path: Path) -> None:
    (line,) = faults_of(
        tmp_path, {**GOOD, "kind": "amplifier", "gain_db": "200", "noise_figure_db": "3"}
    )
    assert "column gain_db; got 200; allowed: a number from -60 to 60 dB" in line
