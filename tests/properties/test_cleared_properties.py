"""A cleared span never takes spectrum away, and never opens what is barred."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from planner.occupancy import Occupancy, apply_clearances, compute_windows
from planner.records import Cleared, Settings
from planner.rules import country_rules
from planner.spectrum import IntervalSet
from tests.unit.builders import gear, stop
from tests.unit.occupancies import PART_74, by_hand, cleared

US = country_rules("US")
PLAN = Settings()
WORDS = ("held", "unlisted", "faint", "quiet")

airs = st.dictionaries(st.integers(14, 36), st.sampled_from(WORDS), min_size=1).map(
    lambda found: dict(sorted(found.items()))
)
quarters = st.integers(4 * 465, 4 * 620).map(lambda quarter: quarter / 4)
rows = st.builds(
    lambda low, width, basis, level: cleared(low, low + width, basis=basis, level_dbm=level),
    quarters,
    st.integers(1, 120).map(lambda quarter: quarter / 4),
    st.sampled_from(("on-site measurement", "agreement", "licence")),
    st.none() | st.sampled_from((-120.0, -97.0, -84.0, -50.0)),
)


def windows(found: Occupancy) -> tuple[IntervalSet, IntervalSet, IntervalSet]:
    """Return clear and faint windows together, the clear ones, and what is barred."""
    found_windows = compute_windows(gear(), found, rules=US, settings=PLAN, excluded=IntervalSet())
    barred = ((s.low_hz, s.high_hz) for s in found_windows.law if s.law == "barred")
    clear = IntervalSet(found_windows.clear_hz)
    return clear | IntervalSet(found_windows.faint_hz), clear, IntervalSet(barred)


@settings(max_examples=80, deadline=None)
@given(
    airs,
    st.sets(st.integers(14, 36)),
    st.lists(rows, min_size=1, max_size=4),
    st.booleans(),
    st.sampled_from(("indoor", "outdoor")),
)
def test_clearing_frees_and_never_takes_and_never_lifts_a_bar(
    air: dict[int, str],
    protected: set[int],
    statements: list[Cleared],
    licensed: bool,  # noqa: FBT001 - drawn
    setting: str,
) -> None:
    before = by_hand(
        air,
        protected={str(number): "invented" for number in protected},
        licences=(PART_74,) if licensed else (),
    )
    here = stop(setting=setting)
    after = apply_clearances(before, here, statements, US, settings=PLAN)
    either, clear, barred = windows(before)
    either_after, clear_after, barred_after = windows(after)
    assert not clear - clear_after
    # what is left of a faint window beside a cleared part may be narrower than a carrier
    assert (either - either_after).width_hz < 200_000 * 2 * len(statements)
    assert barred_after == barred
    stated = IntervalSet((row.low_hz, row.high_hz) for row in statements)
    assert not clear_after - clear - stated
    covered = [IntervalSet((s.low_hz, s.high_hz) for s in x.spans) for x in (before, after)]
    assert covered[0] == covered[1]
