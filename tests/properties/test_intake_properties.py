"""Whatever a file holds, intake gives a sound record or a list of faults, and nothing else."""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import Fault, InputFaults
from planner.intake.gear import COLUMNS as GEAR_COLUMNS
from planner.intake.gear import load_gear
from planner.intake.stations import load_station_tables
from planner.intake.stations.columns import (
    COLUMNS,
    SERVICES,
    SYSTEMS,
    station_table_text,
)
from planner.intake.stations.coordinates import packed_degrees
from planner.intake.stations.coverage import coverage_text, read_coverage
from planner.intake.table import table_from_text
from planner.records import Coverage, StationTable

if TYPE_CHECKING:
    from collections.abc import Callable
    from decimal import Decimal

# Files are written for each example, and the table of Unicode is built on first use: time per
# example says nothing here.
patient = settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
GOOD = {
    "station_id": "a",
    "country": "US",
    "channel": "21",
    "lat_deg": "41.25",
    "lon_deg": "-95.93",
    "erp_kw": "850",
    "haat_m": "300",
}
GEAR = {
    "family": "Alder",
    "role": "mic",
    "low_mhz": "470.1",
    "high_mhz": "513.9",
    "step_khz": "25",
    "bandwidth_khz": "200",
    "spacing_khz": "350",
    "powers_mw": "10;30",
    "power_kind": "EIRP",
}
CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["", "0", "-1", "1e9", "nan", "inf", "37", "US", "GB", "on-air", "470-480;490-"]
    ),
    st.floats(allow_nan=True).map(str),
    st.integers(-1000, 1000).map(str),
)


def faults_of(load: Callable[[Path], object], path: Path) -> tuple[Fault, ...]:
    """Return the faults of a file, none when it is accepted."""
    try:
        load(path)
    except InputFaults as error:
        return error.faults
    return ()


def load_one_table(path: Path) -> StationTable:
    return load_station_tables([path])


@patient
@given(data=st.binary(max_size=200))
def test_any_bytes_are_a_table_or_faults(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "t.csv"
        path.write_bytes(data)
        for load in (load_one_table, load_gear):
            faults = faults_of(load, path)
            assert faults
            assert all("\n" not in fault.line() for fault in faults)


@patient
@given(changes=st.dictionaries(st.sampled_from(COLUMNS), CELLS, max_size=4))
def test_an_accepted_station_is_sound_whatever_its_cells(changes: dict[str, str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "t.csv"
        path.write_text(
            station_table_text([{**GOOD, **changes}]), encoding="utf-8", errors="replace"
        )
        faults = faults_of(load_one_table, path)
        assert all(fault.allowed or fault.advice for fault in faults)
        if faults:
            return
        table = load_one_table(path)
    assert len(table) == 1
    assert abs(table.lat_deg[0]) <= 90
    assert abs(table.lon_deg[0]) <= 180
    assert 0 < table.erp_kw[0] <= 5000
    assert 0 < table.low_hz[0] < table.high_hz[0]
    assert not np.isinf([table.haat_m[0], table.antenna_amsl_m[0], table.height_agl_m[0]]).any()
    assert 0 <= table.pattern_rotation_deg[0] <= 360
    assert table.service[0] in SERVICES


@patient
@given(changes=st.dictionaries(st.sampled_from(GEAR_COLUMNS), CELLS, max_size=4))
def test_an_accepted_range_is_sound_whatever_its_cells(changes: dict[str, str]) -> None:
    row = {**GEAR, **changes}
    quoted = ",".join('"' + row.get(name, "").replace('"', '""') + '"' for name in GEAR_COLUMNS)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "g.csv"
        text = ",".join(GEAR_COLUMNS) + "\n" + quoted + "\n"
        path.write_text(text, encoding="utf-8", errors="replace")
        faults = faults_of(load_gear, path)
        assert all(fault.allowed or fault.advice for fault in faults)
        if faults:
            return
        (gear,) = load_gear(path)
    assert 0 < gear.low_hz <= gear.high_hz
    assert gear.step_hz > 0
    assert gear.bandwidth_hz > 0
    assert gear.links_per_block or gear.spacing_hz >= gear.bandwidth_hz
    assert list(gear.powers_mw) == sorted(set(gear.powers_mw))
    assert min(gear.powers_mw) > 0
    assert all(gear.low_hz <= low <= high <= gear.high_hz for low, high in gear.centre_spans_hz)
    if not gear.links_per_block and gear.high_hz - gear.low_hz < 10**8:
        first = -(-(gear.low_hz - gear.tuning_origin_hz) // gear.step_hz)
        last = (gear.high_hz - gear.tuning_origin_hz) // gear.step_hz
        assert first <= last


@patient
@given(
    value=st.decimals(-(10**6), 10**6, places=4, allow_nan=False, allow_infinity=False),
    degrees=st.integers(0, 179),
    minutes=st.integers(0, 59),
    seconds=st.integers(0, 60),
)
def test_numbers_and_packed_degrees_come_back(
    value: Decimal, degrees: int, minutes: int, seconds: int
) -> None:
    table = table_from_text(f"a,b\n{value:f},1\n", "t.csv")
    assert table.row(0).number("a") == float(value)
    packed = packed_degrees(f"{degrees}{minutes:02d}{seconds:02d}")
    assert packed is not None
    # A whole number of seconds divided by 3600 in two ways: a few units in the last place.
    assert abs(packed.degrees - (degrees * 3600 + minutes * 60 + seconds) / 3600) < 1e-12
    assert packed.full_minute is (seconds == 60)


@patient
@given(
    note=st.text(st.characters(exclude_categories=["Cs"])),
    low_hz=st.integers(1_000_000, 499_999_999),
    high_hz=st.integers(500_000_000, 1_000_000_000),
    services=st.lists(st.sampled_from(SERVICES), min_size=1, unique=True),
    systems=st.lists(st.sampled_from(SYSTEMS), unique=True),
    issued=st.one_of(st.none(), st.dates(dt.date(1990, 1, 1))),
)
def test_a_sidecar_comes_back_as_it_was_written(
    note: str,
    low_hz: int,
    high_hz: int,
    services: list[str],
    systems: list[str],
    issued: dt.date | None,
) -> None:
    coverage = Coverage(
        countries=("US", "CA"),
        services=tuple(services),
        systems=tuple(systems),
        low_hz=low_hz,
        high_hz=high_hz,
        issued=issued,
        missing_note=note,
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "t.csv.coverage.toml"
        path.write_text(coverage_text(coverage), encoding="utf-8", newline="")
        assert read_coverage(path) == coverage
