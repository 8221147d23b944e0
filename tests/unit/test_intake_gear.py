"""The strict reader of the gear catalogue."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from planner.errors import InputFaults
from planner.intake.gear import COLUMNS, load_gear

if TYPE_CHECKING:
    from pathlib import Path

GOOD = {
    "family": "Alder",
    "role": "mic",
    "low_mhz": "470.1",
    "high_mhz": "513.9",
    "step_khz": "25",
    "bandwidth_khz": "200",
    "spacing_khz": "350",
    "powers_mw": "10;30;50",
    "power_kind": "EIRP",
}
BLOCK = {
    "low_mhz": "470",
    "high_mhz": "608",
    "bandwidth_khz": "6000",
    "spacing_khz": "350",
    "links_per_block": "32",
    "modulation": "wideband",
}


def save(folder: Path, *rows: dict[str, str], columns: tuple[str, ...] = COLUMNS) -> Path:
    path = folder / "gear.csv"
    lines = [",".join(columns)]
    for row in rows:
        cells = {**GOOD, **row}
        lines.append(",".join(cells.get(column, "") for column in columns))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def faults_of(path: Path) -> list[str]:
    with pytest.raises(InputFaults, match=r"gear\.csv") as caught:
        load_gear(path, name="gear.csv")
    return [fault.line() for fault in caught.value.faults]


def test_a_plain_row_has_the_defaults_of_the_contract(tmp_path: Path) -> None:
    (gear,) = load_gear(save(tmp_path, {}))
    assert gear.key == "Alder 470.1-513.9"
    assert gear.tuning_origin_hz == gear.low_hz == 470_100_000
    assert (gear.step_hz, gear.bandwidth_hz, gear.spacing_hz) == (25_000, 200_000, 350_000)
    assert (gear.guard_2a_b_hz, gear.guard_a_b_c_hz, gear.guard_3a_2b_hz) == (0, 0, 0)
    assert gear.powers_mw == (10.0, 30.0, 50.0)
    assert gear.status == "current"
    assert gear.links_per_block == 0
    assert gear.chassis_channels is None
    assert gear.noise_figure_db is None
    assert gear.order == 0


def test_every_field_of_a_full_row_arrives(tmp_path: Path) -> None:
    row = {
        "mode": "dense",
        "form": "hand-held",
        "low_mhz": "500",
        "high_mhz": "530",
        "tuning_origin_mhz": "0",
        "step_khz": "12.5",
        "pieces_mhz": "500-512; 518-530",
        "transmitter_span_mhz": "24",
        "chassis_channels": "4",
        "chassis_span_mhz": "60.5",
        "guard_2a_b_khz": "100",
        "guard_a_b_c_khz": "80",
        "guard_3a_2b_khz": "0",
        "modulation": "fm",
        "duplex_low_mhz": "600",
        "duplex_high_mhz": "602",
        "noise_figure_db": "6",
        "sensitivity_dbm": "-95",
        "required_snr_db": "20",
        "countries": "US;PR",
        "available": "12",
        "status": "discontinued",
        "note": "invented",
    }
    first, second = load_gear(save(tmp_path, row, {}))
    assert first.key == "Alder 500-530 dense"
    assert first.tuning_origin_hz == 0
    assert first.step_hz == 12_500
    assert first.pieces_hz == ((500_000_000, 512_000_000), (518_000_000, 530_000_000))
    assert first.centre_spans_hz == first.pieces_hz
    assert first.transmitter_span_hz == 24_000_000
    assert (first.chassis_channels, first.chassis_span_hz) == (4, 60_500_000)
    assert (first.guard_2a_b_hz, first.guard_a_b_c_hz, first.guard_3a_2b_hz) == (100_000, 80_000, 0)
    assert (first.duplex_low_hz, first.duplex_high_hz) == (600_000_000, 602_000_000)
    assert (first.noise_figure_db, first.sensitivity_dbm, first.required_snr_db) == (6, -95, 20)
    assert first.countries == ("US", "PR")
    assert (first.available, first.status, first.note) == (12, "discontinued", "invented")
    assert second.order == 1


def test_a_block_may_be_wider_than_the_spacing(tmp_path: Path) -> None:
    (gear,) = load_gear(save(tmp_path, BLOCK))
    assert gear.links_per_block == 32
    assert gear.searched_span_hz == (470_000_000, 608_000_000)


def test_power_settings_may_stand_in_any_order(tmp_path: Path) -> None:
    (gear,) = load_gear(save(tmp_path, {"powers_mw": "30;20;100"}))
    assert gear.powers_mw == (20.0, 30.0, 100.0)


def test_a_single_frequency_is_a_range(tmp_path: Path) -> None:
    (gear,) = load_gear(save(tmp_path, {"low_mhz": "500", "high_mhz": "500"}))
    assert gear.key == "Alder 500-500"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"family": ""}, "column family; got an empty cell"),
        ({"role": ""}, "column role; got an empty cell"),
        ({"form": "handheld"}, 'did you mean "hand-held"?'),
        (
            {"low_mhz": "520", "high_mhz": "510"},
            "column low_mhz; got 520, high_mhz 510; allowed: low_mhz not above high_mhz",
        ),
        ({"low_mhz": ""}, "column low_mhz; got an empty cell; allowed: a number from 1 to 10000"),
        ({"step_khz": "0"}, "column step_khz; got 0; allowed: a number above 0"),
        ({"step_khz": "-25"}, "column step_khz; got -25"),
        ({"bandwidth_khz": "0"}, "column bandwidth_khz; got 0; allowed: a number above 0"),
        ({"spacing_khz": "0"}, "column spacing_khz; got 0; allowed: a number above 0"),
        (
            {"spacing_khz": "150"},
            "column spacing_khz; got 150; allowed: not below bandwidth_khz 200 kHz",
        ),
        ({"guard_2a_b_khz": "-1"}, "column guard_2a_b_khz; got -1; allowed: a number from 0"),
        ({"guard_a_b_c_khz": "x"}, "column guard_a_b_c_khz; got x"),
        ({"powers_mw": ""}, "column powers_mw; got an empty cell"),
        ({"powers_mw": "10;10"}, "got 10;10; allowed: each setting once; take the repeated one"),
        ({"powers_mw": "30;10;30.0"}, "got 30;10;30.0; allowed: each setting once"),
        ({"powers_mw": "0;10"}, "column powers_mw; got 0; allowed: a number above 0"),
        ({"power_kind": "eirp"}, 'allowed: EIRP / ERP / conducted; did you mean "EIRP"?'),
        ({"power_kind": ""}, "column power_kind; got an empty cell"),
        ({"modulation": "FM"}, 'did you mean "fm"?'),
        ({"status": "old"}, "allowed: current / discontinued"),
        ({"countries": "US;UK"}, "column countries; got UK; allowed: an ISO 3166 code"),
        ({"chassis_channels": "0"}, "column chassis_channels; got 0; allowed: a whole number"),
        ({"available": "-1"}, "column available; got -1"),
        ({"links_per_block": "1.5"}, "column links_per_block; got 1.5; allowed: a whole number"),
        ({"pieces_mhz": "480"}, "got 480; allowed: spans in MHz, low-high, separated by ;"),
        ({"pieces_mhz": "490-480"}, "got 490-480; allowed: low not above high"),
        ({"pieces_mhz": "460-480"}, "allowed: inside 470.1 to 513.9 MHz, the range"),
        ({"pieces_mhz": "480-490;490-500"}, "got 490-500; allowed: pieces in ascending order"),
        ({"pieces_mhz": "490-500;480-485"}, "got 480-485; allowed: pieces in ascending order"),
        ({"duplex_low_mhz": "600"}, "column duplex_high_mhz; got an empty cell"),
        (
            {"duplex_low_mhz": "602", "duplex_high_mhz": "600"},
            "got 602, duplex_high_mhz 600; allowed: duplex_low_mhz not above duplex_high_mhz",
        ),
        ({"sensitivity_dbm": "-95"}, "column required_snr_db; got an empty cell"),
        (
            {"tuning_origin_mhz": "470", "step_khz": "100000"},
            "a grid from 470 MHz that meets the range; no carrier of the grid lies in the range",
        ),
        (
            {**BLOCK, "high_mhz": "475"},
            "column bandwidth_khz; got 6000; allowed: not wider than the span the block may fill",
        ),
    ],
)
def test_each_fault_is_one_line_with_row_and_column(
    tmp_path: Path, row: dict[str, str], said: str
) -> None:
    lines = faults_of(save(tmp_path, {"family": "First"}, row))
    assert len(lines) == 1
    assert lines[0].startswith("gear.csv: row 3, column ")
    assert said in lines[0]


def test_two_equal_range_keys_name_both_rows(tmp_path: Path) -> None:
    lines = faults_of(
        save(tmp_path, {}, {"family": "Elm"}, {"low_mhz": "470.100", "step_khz": "0"})
    )
    assert any(
        line.startswith("gear.csv: row 4, column family; got Alder 470.1-513.9")
        and "row 2 is the same" in line
        for line in lines
    )
    assert len(lines) == 2
    assert len(load_gear(save(tmp_path, {}, {"mode": "dense"}))) == 2


def test_receiver_figures_must_agree_within_3_db(tmp_path: Path) -> None:
    # Thermal noise: -174 dBm/Hz + 10 log10(200 kHz) = -120.99 dBm; with 6 dB noise figure and
    # 20 dB SNR the sensitivity is -94.99 dBm.
    figures = {"noise_figure_db": "6", "required_snr_db": "20"}
    for good in ("-97.9", "-92.1"):
        assert load_gear(save(tmp_path, {**figures, "sensitivity_dbm": good}))
    for bad in ("-98.1", "-91.9"):
        lines = faults_of(save(tmp_path, {**figures, "sensitivity_dbm": bad}))
        assert "within 3 dB of -95.0 dBm" in lines[0]


def test_a_receiver_s_noise_lies_between_0_and_15_db(tmp_path: Path) -> None:
    # kTB of 200 kHz is -120.99 dBm with the density of -174 dBm/Hz, 20 dB SNR: -100.99 dBm.
    for good in ("-100.9", "-86.1"):
        assert load_gear(save(tmp_path, {"sensitivity_dbm": good, "required_snr_db": "20"}))
    for bad, figure in (("-101.1", "-0.1"), ("-85.8", "15.2")):
        row = {"sensitivity_dbm": bad, "required_snr_db": "20"}
        lines = faults_of(save(tmp_path, row))
        assert len(lines) == 1
        assert "noise figure of a number from 0 to 15 dB; with this SNR" in lines[0]
        assert f"it is {figure} dB" in lines[0]
    assert (
        "column noise_figure_db; got 16" in faults_of(save(tmp_path, {"noise_figure_db": "16"}))[0]
    )


def test_a_header_without_rows_and_missing_columns(tmp_path: Path) -> None:
    assert "a gear catalogue with at least one range" in faults_of(save(tmp_path))[0]
    columns = tuple(column for column in COLUMNS if column != "spacing_khz")
    lines = faults_of(save(tmp_path, {}, columns=columns))
    assert lines == [
        (
            "gear.csv: row 1; got no column spacing_khz; allowed: a column named spacing_khz; add "
            "the column"
        )
    ]


@pytest.mark.parametrize("data", [b"", b"family\x00", b"family,\xff\n"])
def test_empty_binary_and_wrongly_encoded_catalogues(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "gear.csv"
    path.write_bytes(data)
    assert len(faults_of(path)) == 1
