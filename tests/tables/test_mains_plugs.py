"""Mains plugs by country: words, voltages, and pairs that everybody knows."""

from __future__ import annotations

from planner.hookup.bill import mains_of
from planner.tables import read_table

TABLE = read_table("mains_plugs")


def test_every_row_is_plausible_and_marked() -> None:
    assert len(set(TABLE["country"])) == len(TABLE["country"])
    assert set(TABLE["status"]) == {"from memory"}
    for plug, volts, hertz in zip(TABLE["plug"], TABLE["volts"], TABLE["hertz"], strict=True):
        assert plug in set("BEFGIJKLN")
        assert (int(volts) < 130) == (plug == "B" or volts == "127")
        assert int(hertz) in {50, 60}


def test_neighbours_share_a_system_and_the_unknown_stays_unknown() -> None:
    for code, plug, volts in (("US", "B", 120), ("GB", "G", 230), ("DE", "F", 230)):
        mains = mains_of(code)
        assert mains is not None
        assert (mains.plug, mains.volts) == (plug, volts)
    assert mains_of("XX") is None
