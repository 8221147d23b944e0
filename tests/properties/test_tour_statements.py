"""Statements written into a tour file come back as the records they were written from."""

from __future__ import annotations

import datetime as dt
import json
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import Fault, InputFaults
from planner.intake.tour import load_tour
from planner.intake.tour_statements import ASSIGNED_KEYS, CLEARED_KEYS, OTHER_KEYS, OWNED_KEYS
from planner.records import Assigned, Cleared, Other, Owned
from planner.records.statements import BASES
from planner.units import shortest_mhz
from tests.unit.tour_files import DENVER, NEED, OMAHA, TOUR_HEAD, write_inputs

if TYPE_CHECKING:
    from pathlib import Path

GOOD = TOUR_HEAD + OMAHA + DENVER + NEED
STOPS = ("omaha-1", "denver-1")
KEYS = ("Alder 470.1-513.9", "Elm 518.1-541.9", "Old Oak 500-530")
FEW = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)

hertz = st.integers(10_000_000, 9_000_000_000)
words = st.text(st.characters(codec="ascii", categories=["L", "N"]), min_size=1, max_size=12)
clocks = st.builds("{:02d}:{:02d}".format, st.integers(0, 23), st.integers(0, 59))
spans = st.tuples(hertz, hertz).filter(lambda pair: pair[0] != pair[1]).map(sorted)


@st.composite
def others(draw: st.DrawFn) -> Other:
    frequency_hz = draw(st.none() | hertz)
    low_hz, high_hz = draw(spans)
    if frequency_hz is not None:
        half_hz = draw(st.integers(1, 5_000_000))
        low_hz, high_hz = frequency_hz - half_hz, frequency_hz + half_hz
    return Other(
        owner=draw(words),
        frequency_hz=frequency_hz,
        low_hz=low_hz,
        high_hz=high_hz,
        stops=tuple(draw(st.lists(st.sampled_from(STOPS), unique=True))),
        active=draw(st.just(()) | st.tuples(clocks, clocks).filter(lambda two: two[0] != two[1])),
        protect=draw(st.booleans()),
        zone=draw(words),
    )


@st.composite
def cleareds(draw: st.DrawFn) -> Cleared:
    low_hz, high_hz = draw(spans)
    return Cleared(
        stop=draw(st.sampled_from(STOPS)),
        low_hz=low_hz,
        high_hz=high_hz,
        basis=draw(st.sampled_from(BASES)),
        level_dbm=draw(st.none() | st.integers(-1500, 0).map(lambda tenths: tenths / 10)),
        date=draw(st.none() | st.dates(dt.date(2000, 1, 1), dt.date(2100, 1, 1))),
        by=draw(st.just("") | words),
    )


assigneds = st.builds(
    Assigned,
    stop=st.sampled_from(STOPS),
    need=st.just("vocals"),
    frequencies_hz=st.lists(hertz, min_size=1, max_size=4, unique=True).map(tuple),
    power_mw=st.none() | st.integers(1, 5000).map(float),
    reference=st.just("") | words,
)
owneds = st.builds(
    Owned,
    range_key=st.sampled_from(KEYS),
    receivers=st.integers(1, 99),
    transmitters=st.integers(0, 99),
)


KEYS_OF = {
    "other": OTHER_KEYS,
    "assigned": ASSIGNED_KEYS,
    "owned": OWNED_KEYS,
    "cleared": CLEARED_KEYS,
}
anything = st.one_of(
    st.integers().map(str),
    st.floats().map(repr),
    st.booleans().map(json.dumps),
    st.text(max_size=20).map(json.dumps),
    st.sampled_from(["[]", "[[1, 2]]", "[518.1]", '["a", 1]', "{}", "2027-02-28", "1e999", "520"]),
)


@FEW
@given(
    st.sampled_from(sorted(KEYS_OF)),
    st.data(),
)
def test_any_value_of_any_key_gives_records_or_faults(
    tmp_path: Path, name: str, data: st.DataObject
) -> None:
    keys = data.draw(st.lists(st.sampled_from(KEYS_OF[name]), unique=True))
    lines = [f"{key} = {data.draw(anything)}" for key in keys]
    write_inputs(tmp_path)
    path = tmp_path / "tour.toml"
    text = "\n".join((GOOD, f"[[{name}]]", *lines))
    path.write_text(text, encoding="utf-8", errors="replace")
    faults: tuple[Fault, ...] = ()
    try:
        tour = load_tour(path).tour
    except InputFaults as error:
        faults = error.faults
        assert faults
        assert all(fault.line().isprintable() for fault in faults)
        return
    assert len([*tour.others, *tour.assigned, *tour.owned, *tour.cleared]) == 1


def table(name: str, **values: object) -> str:
    """Write a TOML table, None and empty values left out."""
    lines = [
        f"{key} = {value.isoformat() if isinstance(value, dt.date) else value}"
        for key, value in values.items()
        if value not in (None, "", "[]", '""')
    ]
    return "\n".join((f"[[{name}]]", *lines)) + "\n"


def other_text(row: Other) -> str:
    """Write an ``[[other]]``."""
    block = row.frequency_hz is None
    return table(
        "other",
        owner=json.dumps(row.owner),
        frequency_mhz=None if row.frequency_hz is None else shortest_mhz(row.frequency_hz),
        bandwidth_khz=None if block else (row.high_hz - row.low_hz) / 1000,
        low_mhz=shortest_mhz(row.low_hz) if block else None,
        high_mhz=shortest_mhz(row.high_hz) if block else None,
        stops=json.dumps(row.stops),
        active=json.dumps(row.active),
        protect=json.dumps(row.protect),
        zone=json.dumps(row.zone),
    )


@FEW
@given(
    st.lists(others(), max_size=3),
    st.lists(assigneds, max_size=2, unique_by=lambda row: row.stop),
    st.lists(owneds, max_size=3, unique_by=lambda row: row.range_key),
    st.lists(cleareds(), max_size=3),
)
def test_there_and_back(
    tmp_path: Path,
    other: list[Other],
    assigned: list[Assigned],
    owned: list[Owned],
    cleared: list[Cleared],
) -> None:
    text = "".join(other_text(row) for row in other)
    for given_row in assigned:
        text += table(
            "assigned",
            stop=json.dumps(given_row.stop),
            need=json.dumps(given_row.need),
            frequencies_mhz=f"[{', '.join(map(shortest_mhz, given_row.frequencies_hz))}]",
            power_mw=given_row.power_mw,
            reference=json.dumps(given_row.reference),
        )
    for owned_row in owned:
        text += table(
            "owned",
            gear=json.dumps(owned_row.range_key),
            receivers=owned_row.receivers,
            transmitters=owned_row.transmitters,
        )
    for cleared_row in cleared:
        text += table(
            "cleared",
            stop=json.dumps(cleared_row.stop),
            low_mhz=shortest_mhz(cleared_row.low_hz),
            high_mhz=shortest_mhz(cleared_row.high_hz),
            basis=json.dumps(cleared_row.basis),
            level_dbm=cleared_row.level_dbm,
            date=cleared_row.date,
            by=json.dumps(cleared_row.by),
        )
    write_inputs(tmp_path)
    path = tmp_path / "tour.toml"
    path.write_text(f"{GOOD}\n{text}", encoding="utf-8")
    tour = load_tour(path).tour
    assert tour.others == tuple(other)
    assert tour.assigned == tuple(assigned)
    assert tour.owned == tuple(owned)
    assert tour.cleared == tuple(cleared)
