"""Re-runs: an unchanged tour gives the same stops; a changed one moves only what must move."""

from __future__ import annotations

import dataclasses
import datetime as dt
import itertools
import json
from typing import TYPE_CHECKING, Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.plan import InputFile, Previous, plan_document, run_plan
from planner.plan.compare import compare_plans
from planner.plan.previous import matched_rows
from planner.records import Exclude
from planner.units import mhz_to_hz
from tests.unit.builders import DATE, gear, need, nobody_near, station, stations, stop, tour
from tests.unit.planning import FAR, moved

if TYPE_CHECKING:
    from planner.records import Stop

RANGES = [
    gear(low_hz=470_100_000, high_hz=487_900_000),
    gear(family="Willow", role="in-ear", low_hz=488_100_000, high_hz=505_900_000),
]
NEEDS = [
    need(lines=("Lead", "Guitar", "Bass"), count=3, spares=1),
    need(name="ears", role="in-ear", lines=("Lead", "Guitar"), count=2, spares=1),
]
SEARCH = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@dataclasses.dataclass(frozen=True, kw_only=True)
class Show:
    """A small tour: stops, stations on the air, spans closed."""

    stops: tuple[Stop, ...]
    rows: tuple[dict[str, Any], ...]
    excludes: tuple[Exclude, ...] = ()


def place(number: int, *, day: int, setting: str = "indoor") -> Stop:
    date = DATE + dt.timedelta(days=day)
    return stop(
        id=f"s{number}", place=f"S{number}", first_date=date, last_date=date, setting=setting,
        **moved(150.0 * number),
    )  # fmt: skip


def transmitter(number: int, at: int, channel: int) -> dict[str, Any]:
    """Return a station that closes its channel at one place and leaves the others quiet."""
    return station(
        channel, station_id=f"x{number}", erp_kw=1.0, haat_m=60.0, **moved(150.0 * at, 90.0)
    )


@st.composite
def shows(draw: st.DrawFn) -> Show:
    count = draw(st.integers(3, 5))
    channels = st.tuples(st.integers(0, count - 1), st.integers(14, 19))
    heard = draw(st.lists(channels, max_size=4, unique=True))
    return Show(
        stops=tuple(place(n, day=2 * n) for n in range(count)),
        rows=(FAR, *(transmitter(i, *where) for i, where in enumerate(heard))),
    )


def run(show: Show, previous: dict[str, Any] | None = None, *, same: bool = False) -> Any:
    found = run_plan(
        tour(list(show.stops), NEEDS, excludes=show.excludes),
        stations(list(show.rows)),
        RANGES,
        countries_near=nobody_near,
        effort="quick",
        previous=None if previous is None else Previous(document=previous, unchanged=same),
    )
    inputs = [InputFile(file="tour.toml", sha256="0" * 64)]
    document = plan_document(found, inputs, previous=previous)
    return json.loads(json.dumps(document))


@SEARCH
@given(show=shows(), same=st.booleans())
def test_an_unchanged_tour_gives_the_same_stops(show: Show, *, same: bool) -> None:
    """With and without the shortcut for unchanged inputs."""
    first = run(show)
    second = run(show, first, same=same)
    assert json.dumps(second["stops"]) == json.dumps(first["stops"])
    assert second["made"]["issue"] == 1
    assert compare_plans(first, second)["same"]


def clashes(carriers_hz: set[int]) -> bool:
    """Say by all pairs and triples whether the carriers of a stop disturb each other."""
    row = RANGES[0]  # guards and spacing of both ranges are the same
    for one, two in itertools.permutations(carriers_hz, 2):
        if abs(one - two) < row.spacing_hz:
            return True
        others = carriers_hz - {one, two}
        if any(abs(2 * one - two - hz) < row.guard_2a_b_hz for hz in others):
            return True
        if any(
            abs(one + two - three - hz) < row.guard_a_b_c_hz
            for three in others
            for hz in others - {three}
        ):
            return True
    return False


def drop(draw: st.DrawFn, show: Show) -> Show:
    gone = draw(st.integers(0, len(show.stops) - 1))
    return dataclasses.replace(
        show, stops=tuple(row for i, row in enumerate(show.stops) if i != gone)
    )


def insert(draw: st.DrawFn, show: Show) -> Show:
    at = draw(st.integers(1, len(show.stops) - 1))
    channels = draw(st.lists(st.integers(14, 19), max_size=4, unique=True))
    rows = [transmitter(100 + i, 9, channel) for i, channel in enumerate(channels)]
    day = (show.stops[at].first_date - DATE).days - 1
    return Show(
        stops=(*show.stops[:at], place(9, day=day), *show.stops[at:]),
        rows=(*show.rows, *rows),
        excludes=show.excludes,
    )


def move_date(draw: st.DrawFn, show: Show) -> Show:
    at = draw(st.integers(0, len(show.stops) - 1))
    date = show.stops[at].first_date + dt.timedelta(days=1)
    later = dataclasses.replace(show.stops[at], first_date=date, last_date=date)
    return dataclasses.replace(show, stops=(*show.stops[:at], later, *show.stops[at + 1 :]))


def exclude(draw: st.DrawFn, show: Show) -> Show:
    low = draw(st.integers(470, 505)) * 1_000_000
    width = draw(st.integers(1, 8)) * 1_000_000
    where = (draw(st.sampled_from(show.stops)).id,)
    row = Exclude(low_hz=low, high_hz=low + width, reason="asked for", stops=where)
    return dataclasses.replace(show, excludes=(*show.excludes, row))


def add_station(draw: st.DrawFn, show: Show) -> Show:
    at, channel = draw(st.integers(0, len(show.stops) - 1)), draw(st.integers(14, 19))
    return dataclasses.replace(show, rows=(*show.rows, transmitter(200, at, channel)))


EDITS = (drop, insert, move_date, exclude, add_station)


@st.composite
def edited(draw: st.DrawFn) -> tuple[Show, Show]:
    before = draw(shows())
    after = before
    for edit in draw(st.lists(st.sampled_from(EDITS), min_size=1, max_size=3, unique=True)):
        after = edit(draw, after)
    return before, after


def valid_before(old: dict[str, Any], now: dict[str, Any]) -> dict[tuple[str, str], float]:
    """Return the old carriers whose whole bandwidth lies in what is usable now."""
    found = {}
    for row in old["carriers"]:
        here = now["ranges"][row["range"]]
        windows = here["windows_mhz"] + (here["faint_windows_mhz"] if row["spare"] else [])
        low = mhz_to_hz(row["frequency_mhz"]) - 100_000
        high = low + 200_000
        if any(mhz_to_hz(a) <= low and high <= mhz_to_hz(b) for a, b in windows):
            found[row["need"], row["name"]] = row["frequency_mhz"]
    return found


@SEARCH
@given(pair=edited())
def test_after_any_edits_every_carrier_that_stays_valid_stays_in_place(
    pair: tuple[Show, Show],
) -> None:
    """Old carriers clear one another, so all that are still usable stand together."""
    before = run(pair[0])
    after = run(pair[1], before)
    assert after["choice"] == before["choice"]  # what may be bought already stays
    found = matched_rows(before["stops"], after["stops"])
    made_room: set[tuple[str, str, str]] = set()
    for now, index in zip(after["stops"], found, strict=True):
        if index < 0:
            continue
        wanted = valid_before(before["stops"][index], now)
        placed = {(row["need"], row["name"]): row["frequency_mhz"] for row in now["carriers"]}
        lines = {
            (row["need"], row["name"])
            for row in before["stops"][index]["carriers"]
            if not row["spare"]
        }
        # a spare gives way where a line of its need lost its place to a neighbour's emission
        displaced = {need for need, name in lines if (need, name) not in wanted}
        bound = {key: mhz for key, mhz in wanted.items() if key in lines or key[0] not in displaced}
        moved = {key for key, mhz in bound.items() if placed.get(key) != mhz}
        # and a line where a line of another need, which lost its place, finds none beside it
        assert not moved or displaced - {need for need, _ in moved}, now["id"]
        made_room |= {(now["id"], *key) for key in moved}
        for key in moved:
            stay = {mhz_to_hz(mhz) for other, mhz in placed.items() if other != key}
            assert not clashes(stay | {mhz_to_hz(placed[key])})
            assert clashes(stay | {mhz_to_hz(bound[key])}), key  # it could not stay
    for told in compare_plans(before, after)["carriers"]:
        for row in told["rows"]:
            if {"frequency_mhz", "range"} & {fact["key"] for fact in row["facts"]}:
                key = (told["stop"], row["need"], row["name"])
                gave_way = ("spare" in row["name"] or key in made_room) and row["why"].startswith(
                    ("made room", "its frequency went to")
                )
                assert gave_way or "is no longer usable" in row["why"], row
