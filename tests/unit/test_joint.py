"""Ranges chosen for all needs together, and what a whole plan then keeps to."""

from __future__ import annotations

import itertools
from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest

from planner.joint import KEPT, as_planned, choose, choose_after, options
from planner.ranking import considered
from planner.records import Assigned, Owned
from planner.units import mhz_to_hz
from tests.unit.builders import gear, need, stop
from tests.unit.joint_cases import Case, windows_of
from tests.unit.planning import document, frequencies_mhz, planned

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.records import GearRange

BARE: dict[str, Any] = {"guard_2a_b_hz": 0, "guard_a_b_c_hz": 0}


def room(low_hz: int, carriers: int, **more: Any) -> GearRange:
    """Return a range that holds so many carriers 350 kHz apart, free of products."""
    high_hz = low_hz + (carriers - 1) * 350_000
    return gear(low_hz=low_hz, high_hz=high_hz, tuning_origin_hz=low_hz, **{**BARE, **more})


def ears(low_hz: int, carriers: int, **more: Any) -> GearRange:
    return room(low_hz, carriers, **{"family": "Willow", "role": "in-ear", **more})


NEEDS = [
    need(lines=tuple("ABC"), count=3, spares=1),
    need(name="ears", role="in-ear", lines=tuple("ABC"), count=3, spares=1),
]
"""Four carriers each."""


# --- the choice --------------------------------------------------------------------------------


def test_the_best_range_of_each_need_alone_is_not_the_best_pair() -> None:
    """Seven carriers fit in the spectrum that both best ranges share; eight are wanted.

    The next best of each alone holds five at 482 MHz (microphones) and four at 494 MHz (ears).
    """
    ranges = [
        room(470_100_000, 7),
        room(482_100_000, 5, family="Birch"),
        ears(470_100_000, 7),
        ears(494_100_000, 4, family="Elm"),
    ]
    result = planned(needs=NEEDS, ranges=ranges)
    alone = {name: rows[0].range_key for name, rows in result.ranking.items()}
    assert alone == {"vocals": ranges[0].key, "ears": ranges[2].key}
    chosen = {name: rows[0].key for name, rows in result.choice.items()}
    # one more microphone fits in 482 MHz beside seven in 470 MHz, none more at 494 MHz
    assert chosen == {"vocals": ranges[1].key, "ears": ranges[2].key}
    assert not result.route.stops[0].missing
    first, *others = document(result)["combinations"]
    assert first["headrooms"] == {"here": {"vocals": 1, "ears": 3}}
    assert first["ranges"] == {name: [key] for name, key in chosen.items()}
    assert [row["rank"] for row in others] == list(range(2, len(others) + 2))
    # the pair of the best ones is one short, so that it comes last if it was followed at all
    assert all(row["worst_headroom"] != first["worst_headroom"] for row in others[-1:])
    pair = {name: [key] for name, key in alone.items()}
    assert all(row["stops_met"] == 0 for row in others if row["ranges"] == pair)


def test_neither_best_range_alone_is_in_the_best_combination() -> None:
    """At stop b both best ranges stand in the way of the other need's second range.

    Microphones: five of 470 MHz at a, five around 494 MHz at b; or four on 482 MHz. Ears: five of
    the same 470 MHz at a, five around 482 MHz at b; or four on 494 MHz. Only the two second
    ranges never meet.
    """
    a, b = stop(id="a"), stop(id="b", lat_deg=40.0)
    mics = [room(470_100_000, 6), room(482_100_000, 4, family="Birch")]
    both = [ears(470_100_000, 6, family="Elm"), ears(494_100_000, 4)]
    at_470, at_482, at_494 = (
        ((low, low + 4 * 350_000),) for low in (470_100_000, 482_100_000, 494_100_000)
    )
    four = [((row.low_hz, row.high_hz),) for row in (mics[1], both[1])]
    spans = {
        (mics[0].key, "a"): at_470,
        (mics[0].key, "b"): at_494,
        (both[0].key, "a"): at_470,
        (both[0].key, "b"): at_482,
        **{
            (row.key, s): span
            for row, span in zip((mics[1], both[1]), four, strict=True)
            for s in "ab"
        },
    }
    case = Case(
        needs=tuple(NEEDS),
        stops=(a, b),
        gear=(*mics, *both),
        windows={key: windows_of(span) for key, span in spans.items()},
    )
    question = case.question()
    assert [rows[0].range_key for rows in question.ranking.values()] == [mics[0].key, both[0].key]
    found = choose(question, effort="quick")
    assert found.combinations[0].ranges == {"vocals": (mics[1].key,), "ears": (both[1].key,)}
    assert [row.stops_met for row in found.combinations] == [2, 1, 1, 1][: len(found.combinations)]


def test_confirmed_stops_come_before_stops_on_hold() -> None:
    """One range meets the two stops on hold, the other the one confirmed stop."""
    stops = (
        stop(id="a"),
        stop(id="b", status="hold"),
        stop(id="c", status="hold"),
    )
    holds, firm = room(470_100_000, 9), room(470_100_000, 9, family="Birch")
    yes, no = windows_of(((470_100_000, 472_900_000),)), windows_of(())
    windows = {(holds.key, s.id): (no if s.id == "a" else yes) for s in stops}
    windows |= {(firm.key, s.id): (yes if s.id == "a" else no) for s in stops}
    found = choose(
        Case(needs=(NEEDS[0],), stops=stops, gear=(holds, firm), windows=windows).question()
    )
    assert [row.ranges["vocals"] for row in found.combinations] == [(firm.key,), (holds.key,)]
    assert [(row.confirmed_met, row.stops_met) for row in found.combinations] == [(1, 1), (0, 2)]
    assert "after the one above by stops met" in found.combinations[1].why
    assert found.confirmed == frozenset("a")


def test_fewer_retunes_decide_between_equals() -> None:
    """Both hold four of four at each stop; one of them moves between the halves of its range."""
    stops = (stop(id="a"), stop(id="b"))
    moves, stays = room(470_100_000, 12), room(470_100_000, 12, family="Birch")
    low, high = ((470_100_000, 471_150_000),), ((480_100_000, 481_150_000),)
    windows = {
        (moves.key, "a"): windows_of(low),
        (moves.key, "b"): windows_of(high),
        (stays.key, "a"): windows_of(low),
        (stays.key, "b"): windows_of(low),
    }
    case = Case(needs=(NEEDS[0],), stops=stops, gear=(moves, stays), windows=windows)
    first, second = choose(case.question()).combinations
    assert (first.ranges["vocals"], first.retunes, first.retunes_bound) == ((stays.key,), 0, 0)
    assert (second.ranges["vocals"], second.retunes, second.retunes_bound) == ((moves.key,), 3, 3)
    assert second.why.endswith("; 3 lines retuned; after the one above by retunes")


@pytest.mark.parametrize("owned", [None, 0, 1, 2])
def test_what_is_owned_decides_a_tie_then_catalogue_order(owned: int | None) -> None:
    ranges = [room(470_100_000 + n * 6_000_000, 5, family=f"F{n}") for n in range(3)]
    rows = () if owned is None else (Owned(range_key=ranges[owned].key, receivers=4),)
    result = planned(needs=[NEEDS[0]], ranges=ranges, owned=rows)
    assert result.choice["vocals"] == (ranges[owned or 0],)
    assert result.ranking["vocals"][0].range_key == ranges[owned or 0].key


def test_what_is_owned_wins_over_headroom_at_stops_that_are_not_the_worst() -> None:
    """Both hold five at b, the first more at a and so it ranks first alone; the second is owned."""
    stops = (stop(id="a"), stop(id="b"))
    more, there = room(470_100_000, 9), room(470_100_000, 9, family="Birch")
    five, nine = (windows_of(((470_100_000, 470_100_000 + n * 350_000),)) for n in (4, 8))
    windows = {(row.key, s.id): five for row in (more, there) for s in stops}
    windows[more.key, "a"] = nine
    for owned, best in (({}, more), ({there.key: 3}, there), ({more.key: 3, there.key: 2}, more)):
        case = Case(
            needs=(NEEDS[0],), stops=stops, gear=(more, there), windows=windows, owned=owned
        )
        first, second = choose(case.question()).combinations
        assert (first.retunes, first.merit) == (second.retunes, second.merit)
        assert first.ranges["vocals"] == (best.key,)


def test_what_is_owned_does_not_win_over_headroom() -> None:
    ranges = [room(470_100_000, 5), room(476_100_000, 4, family="Birch")]
    owned = (Owned(range_key=ranges[1].key, receivers=4),)
    assert planned(needs=[NEEDS[0]], ranges=ranges, owned=owned).choice["vocals"] == (ranges[0],)


def test_what_is_owned_serves_one_of_two_needs() -> None:
    """Two needs of one role, each better off on a range of its own."""
    ranges = [room(470_100_000 + n * 6_000_000, 9, family=f"F{n}") for n in range(3)]
    needs = [NEEDS[0], need(name="band", lines=tuple("ABC"), count=3, spares=1)]
    owned = (Owned(range_key=ranges[2].key, receivers=3),)
    result = planned(needs=needs, ranges=ranges, owned=owned)
    # nine in one range hold both needs with one to spare; in two ranges there are five
    chosen = [rows[0].key for rows in result.choice.values()]
    assert chosen.count(ranges[2].key) == 1


def test_only_the_best_are_followed_to_the_end() -> None:
    """Of 16 combinations those that share spectrum are seen to be worse before the search."""
    ranges = [room(470_100_000 + n * 6_000_000, 12 - n, family=f"M{n}") for n in range(4)]
    ranges += [ears(500_100_000 + n * 6_000_000, 12 - n, family=f"E{n}") for n in range(4)]
    joint = planned(needs=NEEDS, ranges=ranges).joint
    assert joint.possible == 16
    assert joint.tried < 16
    assert len(joint.combinations) >= KEPT
    assert joint.combinations[0].ranges == {"vocals": (ranges[0].key,), "ears": (ranges[4].key,)}


def test_the_winner_is_told_as_its_route_turned_out() -> None:
    row = room(470_100_000, 4)
    windows = {(row.key, "a"): windows_of(((470_100_000, 471_150_000),))}
    case = Case(needs=(NEEDS[0],), stops=(stop(id="a"),), gear=(row,), windows=windows)
    joint = choose(case.question())
    assert (joint.combinations[0].stops_met, joint.combinations[0].confirmed_met) == (1, 1)
    worse = as_planned(joint, {"a": {"vocals": 2}}, retunes=(5, 1)).combinations[0]
    assert (worse.stops_met, worse.confirmed_met, worse.worst_headroom) == (0, 0, {"vocals": -2})
    assert (worse.retunes, worse.retunes_bound) == (5, 1)
    assert "meets 0 of 1 stops with all needs together; worst at a, 2 short" in worse.why
    same = as_planned(joint, {}, retunes=(0, 0))
    assert same.combinations == joint.combinations


def test_ranges_of_an_earlier_plan_are_kept_and_a_better_choice_is_told() -> None:
    rows = [room(470_100_000, n, family=name) for n, name in ((6, "F0"), (5, "F1"), (5, "F2"))]
    windows = {(row.key, "a"): windows_of(((row.low_hz, row.high_hz),)) for row in rows}
    question = Case(
        needs=(NEEDS[0],), stops=(stop(id="a"),), gear=tuple(rows), windows=windows
    ).question()
    best = choose(question)
    found = choose_after(question, {"vocals": (rows[2].key,)})
    assert [row.ranges["vocals"][0] for row in found.combinations] == [
        rows[k].key for k in (2, 0, 1)
    ]
    assert [row.rank for row in found.combinations] == [1, 2, 3]
    assert found.better is not None
    assert found.better.ranges == best.combinations[0].ranges
    for earlier in ({"vocals": (rows[0].key,)}, {"vocals": ("Gone 1-2",)}, {}):
        again = choose_after(question, earlier)
        assert again.better is None
        assert again.combinations == best.combinations


# --- several ranges ----------------------------------------------------------------------------


def check_carriers(record: dict[str, Any], ranges: Sequence[GearRange]) -> dict[str, list[int]]:
    """Check limits, pieces, step, spacing and stock from the document; return Hz by range."""
    by_key = {row.key: row for row in ranges}
    found: dict[str, list[int]] = {}
    # a spare frequency needs no piece of its own
    pieces = Counter(row["range"] for row in record["carriers"] if not row["spare"])
    for carrier in record["carriers"]:
        row, hz = by_key[carrier["range"]], mhz_to_hz(carrier["frequency_mhz"])
        assert any(low <= hz <= high for low, high in row.pieces_hz or ((row.low_hz, row.high_hz),))
        assert (hz - row.tuning_origin_hz) % row.step_hz == 0
        found.setdefault(row.key, []).append(hz)
    for key, carriers in found.items():
        carriers.sort()
        gaps = [b - a for a, b in itertools.pairwise(carriers)]
        assert all(gap >= by_key[key].spacing_hz for gap in gaps)
        available = by_key[key].available
        assert available is None or pieces[key] <= available
    return found


def receivers(carriers_hz: list[int], row: GearRange) -> int:
    """Return how few receivers hold the carriers: from the lowest on, each as many as it can."""
    assert row.chassis_channels is not None
    assert row.chassis_span_hz is not None
    left, count = sorted(carriers_hz), 0
    while left:
        inside = [hz for hz in left if hz - left[0] <= row.chassis_span_hz]
        left = left[len(inside[: row.chassis_channels]) :]
        count += 1
    return count


def test_two_ranges_meet_a_need_that_no_single_one_can() -> None:
    ranges = [room(470_100_000, 4), room(482_100_000, 3, family="Birch")]
    wanted = need(lines=tuple("ABCDE"), count=5, spares=1)
    one = planned(needs=[wanted], ranges=ranges)
    assert sum(one.route.stops[0].missing.values()) == 2
    wanted = need(lines=tuple("ABCDE"), count=5, spares=1, ranges_max=2)
    two = planned(needs=[wanted], ranges=ranges)
    assert two.choice["vocals"] == tuple(ranges)
    assert not two.route.stops[0].missing
    written = document(two)
    assert written["choice"] == {"vocals": [row.key for row in ranges]}
    assert written["needs"][0]["ranges_max"] == 2
    found = check_carriers(written["stops"][0], ranges)
    assert {key: len(carriers) for key, carriers in found.items()} in (
        {ranges[0].key: 4, ranges[1].key: 2},
        {ranges[0].key: 3, ranges[1].key: 3},
    )


def test_one_range_is_enough_where_one_meets_all_stops() -> None:
    ranges = [room(470_100_000, 4), room(482_100_000, 3, family="Birch")]
    result = planned(needs=[need(ranges_max=2)], ranges=ranges)
    assert result.choice["vocals"] == (ranges[0],)
    sets = options(need(ranges_max=2), result.ranking["vocals"])
    assert sets == ((ranges[0].key,), (ranges[1].key,))


def test_sets_hold_as_many_ranges_as_allowed_in_the_order_of_the_ranking() -> None:
    ranges = [room(470_100_000 + n * 6_000_000, 4 - n, family=f"F{n}") for n in range(3)]
    wanted = need(lines=tuple("ABCDEFGH"), count=8, spares=0, ranges_max=3)
    rows = planned(needs=[wanted], ranges=ranges).ranking["vocals"]
    keys = [row.key for row in considered(wanted, ranges)]
    sets = options(wanted, rows)
    assert sets[:3] == tuple((key,) for key in keys)
    assert sets[3:] == (*itertools.combinations(keys, 2), tuple(keys))


def test_stock_pieces_and_chassis_are_kept_to() -> None:
    """Two ranges over several channels; each with a reason to hold fewer than its spectrum."""
    ranges = [
        gear(
            low_hz=470_100_000,
            high_hz=493_900_000,
            pieces_hz=((470_100_000, 472_100_000), (490_100_000, 493_900_000)),
            available=5,
        ),
        gear(
            family="Birch",
            low_hz=500_100_000,
            high_hz=523_900_000,
            chassis_channels=2,
            chassis_span_hz=1_500_000,
        ),
    ]
    stops = [stop(id="a"), stop(id="b", lat_deg=40.0, exclude_hz=((500_000_000, 512_000_000),))]
    lines = tuple("ABCDEFGHIJ")
    # four receivers hold eight carriers of the second range
    wanted = need(lines=lines, count=10, spares=1, ranges_max=2, stops=())
    result = planned(stops=stops, needs=[wanted], ranges=ranges)
    for record in document(result)["stops"]:
        found = check_carriers(record, ranges)
        assert receivers(found[ranges[1].key], ranges[1]) <= -(-11 // 2)
        assert sum(len(carriers) for carriers in found.values()) == 11


def test_a_chassis_narrower_than_its_carriers_leaves_some_missing() -> None:
    """One receiver of four channels spans 700 kHz: three carriers at most, 350 kHz apart."""
    row = room(470_100_000, 9, chassis_channels=4, chassis_span_hz=700_000)
    wanted = need(lines=tuple("ABCD"), count=4, spares=0)
    result = planned(needs=[wanted], ranges=[row])
    assert result.route.stops[0].missing == {"vocals": 1}
    found = check_carriers(document(result)["stops"][0], [row])
    assert receivers(found[row.key], row) == 1
    wider = room(470_100_000, 9, chassis_channels=4, chassis_span_hz=1_050_000)
    assert not planned(needs=[wanted], ranges=[wider]).route.stops[0].missing


def test_stock_bounds_the_carriers_of_a_range() -> None:
    row = room(470_100_000, 9, available=3)
    wanted = need(lines=tuple("ABCD"), count=4, spares=0)
    result = planned(needs=[wanted], ranges=[row])
    assert result.route.stops[0].missing == {"vocals": 1}
    assert result.ranking["vocals"][0].worst_headroom == -1
    assert document(result)["combinations"][0]["headrooms"] == {"here": {"vocals": -1}}


@pytest.mark.parametrize(
    ("width_hz", "last"), [(None, (478.1, 483.1)), (5_000_000, (483.1, 478.1))]
)
def test_a_transmitter_stays_within_the_width_that_it_tunes(
    width_hz: int | None, last: tuple[float, float]
) -> None:
    """A steps over B at b, so that A has been on 480.1 and 484.1 MHz and cannot go to 478.1.

    In the order of frequencies A would take it; the widths alone cross the two.
    """
    rows = tuple(
        Assigned(stop=at, need="vocals", frequencies_hz=tuple(mhz_to_hz(f) for f in mhz))
        for at, mhz in (("a", (480.1, 482.1)), ("b", (482.1, 484.1)), ("c", (478.1, 483.1)))
    )
    stops = [stop(id=name, lat_deg=39.0 + i) for i, name in enumerate("abc")]
    result = planned(
        stops=stops,
        needs=[need(lines=("A", "B"), spares=0)],
        ranges=[gear(**BARE, transmitter_span_hz=width_hz)],
        assigned=rows,
    )
    found = [frequencies_mhz(record) for record in document(result)["stops"]]
    assert found[:2] == [{"A": 480.1, "B": 482.1}, {"A": 484.1, "B": 482.1}]
    assert (found[2]["A"], found[2]["B"]) == last


def test_two_ranges_are_tried_where_one_fails_only_beside_the_other_need() -> None:
    """Each need alone is met by the first range; together they are one short of it."""
    both = [
        need(lines=tuple("ABCD"), count=4, spares=0, ranges_max=2),
        need(name="band", lines=tuple("ABCD"), count=4, spares=0, ranges_max=2),
    ]
    ranges = [room(470_100_000, 7), room(520_100_000, 2, family="Birch")]
    result = planned(needs=both, ranges=ranges)
    assert not result.short_confirmed
    assert result.joint.combinations[0].stops_met == 1
    assert any(len(rows) == 2 for rows in result.choice.values())


def test_an_earlier_choice_of_more_ranges_than_now_allowed_is_not_kept() -> None:
    ranges = [room(470_100_000, 3), room(520_100_000, 3, family="Birch")]
    one = need(lines=tuple("AB"), count=2, spares=0, ranges_max=1)
    case = Case(
        needs=(one,),
        stops=(stop(id="a"),),
        gear=tuple(ranges),
        windows={(row.key, "a"): windows_of(((row.low_hz, row.high_hz),)) for row in ranges},
    )
    joint = choose_after(case.question(), {one.name: [row.key for row in ranges]})
    assert [len(keys) for keys in joint.combinations[0].ranges.values()] == [1]


def test_stock_is_shared_by_needs_and_spare_frequencies_take_none() -> None:
    ranges = [room(470_100_000, 20, available=4)]
    alone = [need(lines=tuple("ABCD"), count=4, spares=2)]
    assert not planned(needs=alone, ranges=ranges).short_confirmed
    both = [
        need(lines=tuple("ABC"), count=3, spares=0),
        need(name="band", lines=tuple("ABC"), count=3, spares=0),
    ]
    result = planned(needs=both, ranges=ranges)
    assert result.short_confirmed
    assert sum(result.route.stops[0].missing.values()) == 2
