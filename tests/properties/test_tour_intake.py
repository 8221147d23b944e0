"""Whatever stands in a tour file or a route: records come out, or a list of faults."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from planner.errors import Fault, InputFaults
from planner.intake.tour import LoadedTour, load_tour
from planner.places import name_key, slug
from tests.unit.tour_files import DENVER, NEED, OMAHA, TOUR_HEAD, write_inputs

if TYPE_CHECKING:
    from pathlib import Path

LINES = (TOUR_HEAD + OMAHA + DENVER + NEED).splitlines()
KEYS = ("lat", "lon", "date", "id", "place", "count", "lines", "exclude_mhz", "country", "stops")
FEW = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)

values = st.one_of(
    st.integers().map(str),
    st.floats().map(repr),
    st.booleans().map(lambda flag: str(flag).lower()),
    st.text(max_size=30).map(json.dumps),
    st.sampled_from(
        ["[]", "[[]]", "[[1, 2]]", '["a", 1]', "{}", "2027-02-28", "07:32:00", "1e999"]
    ),
)


def read(path: Path) -> LoadedTour | None:
    """Return the tour, None when it is at fault; anything else raised fails the test."""
    faults: tuple[Fault, ...] = ()
    try:
        return load_tour(path)
    except InputFaults as error:
        faults = error.faults
    assert faults
    assert all(fault.line().isprintable() for fault in faults)
    return None


@FEW
@given(st.integers(0, len(LINES)), st.sampled_from(KEYS), values)
@example(6, "lat", "1" * 400)
@example(6, "exclude_mhz", "[[1e-400, 1e400]]")
def test_any_value_anywhere(tmp_path: Path, line: int, key: str, value: str) -> None:
    write_inputs(tmp_path)
    path = tmp_path / "tour.toml"
    lines = [*LINES[:line], f"{key} = {value}", *LINES[line:]]
    path.write_text("\n".join(lines), encoding="utf-8", errors="replace")
    loaded = read(path)
    if loaded is not None:
        assert [re.fullmatch(r"[a-z0-9_-]+", stop.id) for stop in loaded.tour.stops].count(
            None
        ) == 0
        assert len({stop.id for stop in loaded.tour.stops}) == len(loaded.tour.stops)


@FEW
@given(st.binary(max_size=200))
def test_any_bytes(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "tour.toml"
    path.write_bytes(data)
    assert read(path) is None


@FEW
@given(
    st.lists(
        st.lists(st.text(st.characters(codec="utf-8"), max_size=12), min_size=4, max_size=4),
        max_size=3,
    )
)
def test_any_cells_of_a_route(tmp_path: Path, rows: list[list[str]]) -> None:
    write_inputs(tmp_path)
    path = tmp_path / "tour.toml"
    path.write_text(f'{TOUR_HEAD}route = "route.csv"\n{NEED}', encoding="utf-8")
    text = "place,lat,lon,date\n" + "".join(",".join(row) + "\n" for row in rows)
    (tmp_path / "route.csv").write_bytes(text.encode())
    read(path)


@given(st.text())
def test_a_slug_is_fit_for_a_file_name(text: str) -> None:
    assert re.fullmatch(r"(?:[a-z0-9]+(?:-[a-z0-9]+)*)?", slug(text))
    assert slug(slug(text)) == slug(text)


@given(st.text(st.characters(codec="ascii")))
def test_case_and_blanks_do_not_make_another_name(text: str) -> None:
    assert name_key(text.upper()) == name_key(text.lower()) == name_key(f"  {text}  ")


@pytest.mark.parametrize("text", ["Saint Cloud", "ST. CLOUD", "st  cloud", "Saint-Cloud"])
def test_spellings_of_one_name(text: str) -> None:
    assert name_key(text) == "saintcloud"
