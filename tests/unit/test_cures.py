"""Cures of a shortage: each where it is the one that works, and each checked by planning it."""

from __future__ import annotations

import dataclasses
import re
from typing import TYPE_CHECKING, Any

from planner.plan.cures import ORDER
from planner.reach import compute_reach
from planner.records import Assigned, Licence, Settings
from planner.rules import country_rules
from tests.unit.builders import gear, need, station, stations, stop
from tests.unit.planning import FAR, document, moved, planned

if TYPE_CHECKING:
    from planner.plan import PlanResult

BARE: dict[str, Any] = {"guard_2a_b_hz": 0, "guard_a_b_c_hz": 0}


def narrow(low_hz: int = 470_100_000, *, room: int = 3, **more: Any) -> Any:
    """Return a range that holds so many carriers 350 kHz apart, free of products."""
    high_hz = low_hz + (room - 1) * 350_000
    return gear(low_hz=low_hz, high_hz=high_hz, tuning_origin_hz=low_hz, **{**BARE, **more})


def short(result: PlanResult, stop_id: str = "here") -> dict[str, Any]:
    """Return what one stop of the document says of its only need that is short."""
    (record,) = [row for row in document(result)["stops"] if row["id"] == stop_id]
    (row,) = record["short"]
    assert isinstance(row, dict)
    return row


def cures(row: dict[str, Any]) -> dict[str, tuple[str, int]]:
    found = {cure["cure"]: (cure["text"], cure["missing_after"]) for cure in row["cures"]}
    assert len(found) == len(row["cures"])
    assert list(found) == sorted(found, key=ORDER.index)
    return found


def applied(tour: dict[str, Any], cure: str, text: str, stop_id: str) -> dict[str, Any]:
    """Return the tour with a cure applied as its text says."""
    stops, needs = tour.get("stops", [stop()]), tour.get("needs", [need()])
    settings = tour.get("settings", Settings())
    match cure:
        case "fewer-spares":
            spares = int(text.split(maxsplit=1)[0])
            return {**tour, "needs": [dataclasses.replace(row, spares=spares) for row in needs]}
        case "faint":
            return {**tour, "settings": dataclasses.replace(settings, use_faint="all")}
        case "coordinates":
            exact = [
                dataclasses.replace(row, location_error_km=0.0) if row.id == stop_id else row
                for row in stops
            ]
            return {**tour, "stops": exact}
        case "licence":
            found = re.search(r"of kind (\S+) for", text)
            assert found is not None
            return {**tour, "licences": (Licence(country="US", kind=found[1]),)}
        case "second-range":
            return {**tour, "needs": [dataclasses.replace(row, ranges_max=2) for row in needs]}
        case _:
            raise AssertionError(cure)


def checked(tour: dict[str, Any], stop_id: str = "here") -> tuple[int, dict[str, tuple[str, int]]]:
    """Return what is missing and the cures, after planning the tour with each of them."""
    row = short(planned(**tour), stop_id)
    found = cures(row)
    for cure, (text, after) in found.items():
        if cure == "drop-stop":
            assert after == 0
            continue
        assert after < row["missing"]
        assert text.endswith("nothing missing" if after == 0 else f"{after} still missing")
        result = planned(**applied(tour, cure, text, stop_id))
        (record,) = [row for row in result.route.stops if row.stop_id == stop_id]
        assert sum(record.missing.values()) == after, cure
    return row["missing"], found


def test_fewer_spares() -> None:
    """Three carriers fit, two lines and two spares are wanted."""
    missing, found = checked({"ranges": [narrow()], "needs": [need(spares=2)]})
    assert missing == 1
    assert found["fewer-spares"] == ("1 spare instead of 2: nothing missing", 0)
    assert set(found) == {"fewer-spares", "drop-stop"}


def test_fewer_spares_are_no_cure_where_lines_are_missing_too() -> None:
    """Three carriers fit, four lines and two spares are wanted: one line stays missing."""
    lines = tuple("ABCD")
    missing, found = checked(
        {"ranges": [narrow()], "needs": [need(lines=lines, count=4, spares=2)]}
    )
    assert missing == 3
    assert "fewer-spares" not in found


def test_a_shortage_of_lines_is_not_cured_by_fewer_spares_there_are_none_of() -> None:
    missing, found = checked({"ranges": [narrow(room=1)], "needs": [need(spares=0)]})
    assert missing == 1
    assert set(found) == {"drop-stop"}


def test_a_second_range() -> None:
    tour: dict[str, Any] = {
        "ranges": [narrow(), narrow(482_100_000, family="Birch", room=2)],
        "needs": [need(lines=tuple("ABCD"), count=4, spares=0)],
    }
    missing, found = checked(tour)
    assert missing == 1
    text = "Birch 482.1-482.45 beside Alder 470.1-470.8: nothing missing"
    assert found["second-range"] == (text, 0)


def test_the_best_second_range_is_given_and_what_it_leaves() -> None:
    """Birch comes before Cedar, but it tunes the very spectrum that is used up."""
    ranges = [
        narrow(),
        narrow(family="Birch", step_hz=50_000),
        narrow(494_100_000, family="Cedar", room=2),
    ]
    tour: dict[str, Any] = {
        "ranges": ranges,
        "needs": [need(lines=tuple("ABCDEF"), count=6, spares=0)],
    }
    missing, found = checked(tour)
    assert missing == 3
    assert found["second-range"][1] == 1
    assert found["second-range"][0].startswith("Cedar ")


def faint_row() -> dict[str, Any]:
    """Return a station whose channel 20 is faint on a roof at the stop: 5 km outside."""
    us = country_rules("US")
    reach = compute_reach([stop()], stations([station(20)]), [us])
    return station(20, **moved(float(reach.contour_cautious_km[0]) + 5))


ROOF = {"setting": "outdoor", "antenna_height_m": 9.0}


def test_faint_spans() -> None:
    tour: dict[str, Any] = {
        "rows": [FAR, faint_row()],
        "stops": [stop(**ROOF)],
        "ranges": [narrow(506_100_000)],
        "needs": [need(spares=1)],
    }
    missing, found = checked(tour)
    assert missing == 2  # the spare stands there as it is
    assert found["faint"][1] == 0
    assert 'use_faint = "all"' in found["faint"][0]
    everywhere = {**tour, "settings": Settings(use_faint="all")}
    assert planned(**everywhere).cures == {}


MILWAUKEE = {"lat_deg": 43.0389, "lon_deg": -87.9065}
"""131 km from Chicago, whose land mobile on channels 14 and 15 is held to 129 km."""


def test_coordinates() -> None:
    tour: dict[str, Any] = {
        "stops": [stop(**MILWAUKEE, location_error_km=15.0)],
        "ranges": [narrow()],
        "needs": [need()],
    }
    missing, found = checked(tour)
    assert missing == 3
    assert found["coordinates"][1] == 0
    assert "coordinates" not in cures(short(planned(ranges=[narrow(room=1)])))


def test_a_licence() -> None:
    """653-657 MHz is for licensees only (47 CFR 74.802(a)(2))."""
    missing, found = checked({"ranges": [narrow(653_200_000)]})
    assert missing == 3
    assert found["licence"] == ("a licence of kind part-74 for this stop: nothing missing", 0)
    # a licence that is held is not proposed
    held = Licence(country="US", kind="part-74")
    row = short(planned(ranges=[narrow(653_200_000, room=2)], licences=(held,)))
    assert "licence" not in cures(row)


def test_a_licence_opens_nothing_that_it_would_only_allow_on_request() -> None:
    """Dallas: channel 16 is land mobile, barred without a licence and on request with one."""
    tour: dict[str, Any] = {
        "stops": [stop(lat_deg=32.78, lon_deg=-96.8)],
        "ranges": [narrow(482_100_000)],
    }
    missing, found = checked(tour)
    assert missing == 3
    assert "licence" not in found


def test_dropping_the_stop_says_what_becomes_of_the_others() -> None:
    shut = ((470_000_000, 608_000_000),)
    stops = [stop(id="a"), stop(id="b", lat_deg=40.0, exclude_hz=shut), stop(id="c", lat_deg=41.0)]
    missing, found = checked({"stops": stops, "needs": [need(spares=0)]}, "b")
    assert missing == 2
    text = "without this stop all other 2 are met with the same ranges"
    assert found == {"drop-stop": (text, 0)}
    left = planned(stops=[stops[0], stops[2]])
    assert not any(row.missing for row in left.route.stops)
    assert left.choice == planned(stops=stops).choice
    two = [*stops, stop(id="d", lat_deg=42.0, exclude_hz=shut)]
    text = "without this stop; but 1 of 3 others are short too (d)"
    assert cures(short(planned(stops=two), "b"))["drop-stop"] == (text, 0)
    alone = cures(short(planned(stops=[stops[1]]), "b"))
    assert alone["drop-stop"] == ("without this stop nothing is left of the tour", 0)


def test_a_need_that_is_met_has_no_cures() -> None:
    result = planned()
    assert result.cures == {}
    assert document(result)["stops"][0]["short"] == []


def test_cures_keep_to_what_is_assigned() -> None:
    """One frequency of an assignment is short by one; a second range has no assigned one."""
    tour: dict[str, Any] = {
        "ranges": [narrow(), narrow(482_100_000, family="Birch")],
        "needs": [need(spares=0)],
        "assigned": (Assigned(stop="here", need="vocals", frequencies_hz=(470_100_000,)),),
    }
    missing, found = checked(tour)
    assert missing == 1
    assert set(found) == {"drop-stop"}


def test_a_cure_counts_with_all_needs_beside_each_other() -> None:
    """Two needs share one range of four carriers; six are wanted."""
    needs = [need(spares=1), need(name="ears", lines=("Lead", "Guitar"), spares=1)]
    tour: dict[str, Any] = {"ranges": [narrow(room=4)], "needs": needs}
    (record,) = document(planned(**tour))["stops"]
    told = {row["need"]: row for row in record["short"]}
    assert sum(row["missing"] for row in told.values()) == 2
    for victim, row in told.items():
        (text, after) = cures(row)["fewer-spares"]
        assert text.startswith("no spares instead of 1")
        changed = [
            dataclasses.replace(row, spares=0) if row.name == victim else row for row in needs
        ]
        left = planned(**{**tour, "needs": changed}).route.stops[0].missing
        assert left.get(victim, 0) == after
