"""Words and limits of a stop have one home."""

from __future__ import annotations

from planner.intake import limits, tour_stops


def test_a_stop_of_a_tour_is_read_with_the_shared_words_and_limits() -> None:
    assert tour_stops.SETTINGS is limits.SETTINGS
    assert tour_stops.ANTENNA_HEIGHT_M is limits.ANTENNA_HEIGHT_M
    assert limits.ANTENNA_HEIGHT_M.text() == "a number from 1 to 30 m"
    assert limits.ANTENNA_HEIGHT_M.holds(limits.DEFAULT_ANTENNA_HEIGHT_M)
    assert "unknown" in limits.SETTINGS
