"""Ranking: stops met, headroom at the worst, sum, catalogue order; and the sentence why."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from planner.occupancy import RangeWindows
from planner.ranking import Counter, RangeCount, considered, grid_of, rank_need
from tests.unit.builders import gear, need, stop

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.records import Stop

STOPS = [stop(id="a"), stop(id="b")]


def count(found: int, faint: int = 0, limit: int | None = None) -> RangeCount:
    return RangeCount(
        clear_hz=tuple(range(found)),
        faint_hz=tuple(range(faint)),
        clear_limit=found if limit is None else limit,
        faint_limit=faint,
    )


def windows(*spans: tuple[int, int]) -> RangeWindows:
    return RangeWindows(
        law=(), clear_hz=spans, faint_hz=(), unchecked_hz=(), centres_hz=spans, faint_centres_hz=()
    )


def ranked(
    found: dict[str, tuple[RangeCount, ...]], stops: Sequence[Stop] = STOPS
) -> list[tuple[str, int, int, str]]:
    ranges = [gear(family=name) for name in found]
    counts = {
        (row.key, stop.id): found[row.family][i] for row in ranges for i, stop in enumerate(stops)
    }
    spans = {key: windows((0, 1_000_000)) for key in counts}
    rows = rank_need(need(), ranges, stops, counts=counts, windows=spans)
    assert [row.rank for row in rows] == list(range(1, len(rows) + 1))
    return [(row.range_key.split()[0], row.stops_met, row.worst_headroom, row.why) for row in rows]


def test_external_noise_comes_before_what_is_left_over_and_after_what_is_missing() -> None:
    low, high = gear(family="Low"), gear(family="High")

    def order(low_found: int, high_found: int, over_db: float = 21.7) -> list[str]:
        counts = {
            (row.key, here.id): count(found)
            for row, found in ((low, low_found), (high, high_found))
            for here in STOPS
        }
        rows = rank_need(
            need(),
            [low, high],
            STOPS,
            counts=counts,
            windows={key: windows((0, 1_000_000)) for key in counts},
            noise_over_db={low.key: over_db, high.key: 1.8},
        )
        said = next(row.why for row in rows if row.range_key == low.key)
        assert (f"external noise lifts the floor here by up to {over_db:.0f} dB" in said) == (
            over_db >= 6
        )
        return [row.range_key.split()[0] for row in rows]

    assert order(50, 5) == ["High", "Low"]  # both serve: the quieter band first
    assert order(50, 2) == ["Low", "High"]  # three wanted: what is missing counts before noise
    assert order(50, 5, over_db=5.9) == ["Low", "High"]  # less than a step: headroom decides


def test_stops_met_come_before_headroom() -> None:
    rows = ranked({"Rich": (count(50), count(2)), "Steady": (count(3), count(3))})
    assert [row[:3] for row in rows] == [("Steady", 2, 0), ("Rich", 1, -1)]


def test_stops_met_come_first_even_with_the_worse_worst_stop() -> None:
    # three wanted: Most meets two of three stops but has nothing at c; Even is never more than
    # one short, and meets one
    stops = [*STOPS, stop(id="c")]
    rows = ranked(
        {"Even": (count(3), count(2), count(2)), "Most": (count(3), count(3), count(0))}, stops
    )
    assert [row[:3] for row in rows] == [("Most", 2, -3), ("Even", 1, -1)]


def test_confirmed_stops_met_come_before_stops_on_hold() -> None:
    # Holds meets the two stops on hold, Firm the one confirmed stop
    stops = [stop(id="a"), stop(id="b", status="hold"), stop(id="c", status="hold")]
    rows = ranked(
        {"Holds": (count(2), count(3), count(3)), "Firm": (count(3), count(0), count(0))}, stops
    )
    assert [row[0] for row in rows] == ["Firm", "Holds"]


def test_stops_on_hold_decide_between_equal_confirmed_ones() -> None:
    stops = [stop(id="a"), stop(id="b", status="hold"), stop(id="c", status="hold")]
    rows = ranked(
        {"None": (count(9), count(2), count(2)), "One": (count(3), count(3), count(0))}, stops
    )
    assert [row[0] for row in rows] == ["One", "None"]


def test_then_headroom_at_the_worst_then_its_sum() -> None:
    rows = ranked({"A": (count(9), count(4)), "B": (count(5), count(5)), "C": (count(9), count(5))})
    assert [row[0] for row in rows] == ["C", "B", "A"]


def test_a_tie_goes_to_catalogue_order_and_says_so() -> None:
    rows = ranked({"First": (count(5), count(5)), "Second": (count(5), count(5))})
    assert [row[0] for row in rows] == ["First", "Second"]
    assert "tie with First 470.1-607.9: what is owned, then catalogue order decides" in rows[1][3]
    assert "tie" not in rows[0][3]


def test_faint_carriers_count_as_spares_only() -> None:
    # two lines and a spare: one clear carrier and nine faint ones are one line short
    rows = ranked({"A": (count(1, faint=9), count(2, faint=9))})
    assert rows[0][1:3] == (1, -1)


def test_a_failure_names_the_stops_and_whether_it_is_proven() -> None:
    rows = ranked(
        {"A": (count(1), count(9)), "B": (count(0, limit=7), count(9))},
    )
    assert "meets 1 of 2 stops; fails at a (2 short)" in rows[0][3]
    assert "no set can do it (proven bound 2 short)" in rows[0][3]
    assert "the bound leaves it open" in rows[1][3]


def test_common_spectrum_of_a_range_is_the_intersection() -> None:
    row = gear()
    counts = {(row.key, s.id): count(3) for s in STOPS}
    spans = {
        (row.key, "a"): windows((0, 3_000_000)),
        (row.key, "b"): windows((2_000_000, 6_000_000)),
    }
    (ranking,) = rank_need(need(), [row], STOPS, counts=counts, windows=spans)
    assert ranking.common_usable_hz == 1_000_000


@pytest.mark.parametrize(
    ("more", "kept"),
    [
        ({}, True),
        ({"role": "in-ear"}, False),
        ({"form": "hand-held"}, True),
        ({"form": "rack"}, False),
        ({"family": "Elm"}, False),
        ({"links_per_block": 8, "modulation": "wideband"}, True),
    ],
)
def test_which_rows_a_need_considers(more: dict[str, object], *, kept: bool) -> None:
    wanted = need(form="hand-held", gear=("Alder",))
    assert bool(considered(wanted, [gear(**more)])) is kept


def test_a_grid_is_the_gears_step_and_the_laws_raster_together() -> None:
    centres = ((470_000_000, 471_000_000),)
    odd = gear(tuning_origin_hz=470_100_000, step_hz=10_000)
    grid = grid_of(odd, (0, 25_000), centres)
    assert (grid.origin_hz % 50_000, grid.step_hz) == (0, 50_000)
    never = gear(tuning_origin_hz=470_012_500, step_hz=25_000)
    assert grid_of(never, (0, 25_000), centres).windows_hz == ()


def test_each_distinct_question_is_counted_once() -> None:
    counter = Counter("quick")
    spans = windows((470_100_000, 480_000_000))
    first = counter.count(gear(), spans, (0, 25_000), spares=1)
    assert counter.count(gear(family="Birch"), spans, (0, 25_000), spares=1) is first
    assert first.found(0) == len(first.clear_hz) > 0
    assert first.limit(0) >= first.found(0)
