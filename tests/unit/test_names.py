"""Dealing carriers to names: what weighs more, on cases worked by hand."""

from __future__ import annotations

import dataclasses

from planner.coordination.names import Names, Use, deal, deal_stop, is_retune, partner_needs

LOW, MID, HIGH = (Use(range_key="one", frequency_hz=hz) for hz in (100, 200, 300))
EXTRA = Use(range_key="one", frequency_hz=400, main=False)


def names(*lines: str, spares: tuple[str, ...] = (), **more: object) -> Names:
    values: dict[str, object] = {"need": "mics", "lines": lines, "spares": spares, **more}
    return Names(**values)  # type: ignore[arg-type]


def test_equal_names_come_ascending() -> None:
    assert deal(names("a", "b", spares=("s",)), (LOW, MID, HIGH)) == {
        "a": LOW,
        "b": MID,
        "s": HIGH,
    }


def test_nothing_to_deal_is_nothing_dealt() -> None:
    assert deal(names("a"), ()) == {}
    assert deal(names(), (LOW,)) == {}


def test_lines_never_stand_on_centres_for_spares() -> None:
    assert deal(names("a", "b", spares=("s",)), (LOW, EXTRA)) == {"a": LOW, "s": EXTRA}
    assert deal(names("a", "b"), (EXTRA,)) == {}


def test_a_line_is_filled_before_a_spare() -> None:
    assert deal(names("a", spares=("s",), last={"s": LOW}), (LOW,)) == {"a": LOW}


def test_last_nights_carrier_stays_with_its_name() -> None:
    got = deal(names("a", "b", "c", last={"a": HIGH, "c": LOW}), (LOW, MID, HIGH))
    assert got == {"a": HIGH, "b": MID, "c": LOW}


def test_an_earlier_plan_comes_before_last_night() -> None:
    got = deal(names("a", "b", earlier={"a": MID}, last={"a": LOW, "b": MID}), (LOW, MID))
    assert got == {"a": MID, "b": LOW}


def test_a_line_with_packs_is_retuned_last() -> None:
    # one of the two must move; the packs of a need weigh alike, a line more than a spare
    wanted = {"a": LOW, "s": LOW}
    assert deal(names("a", spares=("s",), last=wanted), (LOW, MID)) == {"a": LOW, "s": MID}


def test_another_power_or_range_is_a_retune() -> None:
    ten = Use(range_key="one", frequency_hz=100, power_mw=10.0)
    assert is_retune(LOW, ten)
    assert is_retune(LOW, Use(range_key="two", frequency_hz=100))
    assert is_retune(LOW, MID)
    # whether spares alone may stand there is the stop's business, and no retune
    assert not is_retune(ten, Use(range_key="one", frequency_hz=100, power_mw=10.0, main=False))


def test_a_transmitter_stays_inside_the_width_it_can_tune() -> None:
    got = deal(
        names("a", "b", reach_hz={("a", "one"): (250, 300)}, widths_hz={"one": 100}), (LOW, HIGH)
    )
    assert got == {"a": HIGH, "b": LOW}
    # exactly as wide is allowed
    got = deal(
        names("a", "b", reach_hz={("a", "one"): (200, 200)}, widths_hz={"one": 100}), (LOW, HIGH)
    )
    assert got == {"a": LOW, "b": HIGH}


def test_partners_keep_their_distance_exactly_far_enough_is_enough() -> None:
    mics = names("a", "b")
    for far_hz, got in ((50, {"a": LOW, "b": MID}), (51, {"a": MID, "b": LOW})):
        found = deal(mics, (LOW, MID), partners_hz={"a": (150 - 100,)}, separation_hz=far_hz)
        assert found == got


def test_pairs_are_both_ways_and_only_where_both_needs_are() -> None:
    mics = names("a", pair_with="ears")
    ears = Names(need="ears", lines=("a",))
    assert partner_needs([mics, ears]) == {"mics": ("ears",), "ears": ("mics",)}
    assert partner_needs([mics]) == {}


def test_a_pair_is_kept_apart_at_a_stop() -> None:
    mics = names("a", "b", pair_with="ears")
    ears = Names(need="ears", lines=("a", "b"))
    near = tuple(Use(range_key="two", frequency_hz=hz) for hz in (110, 210))
    got = deal_stop([mics, ears], {"mics": (LOW, MID), "ears": near}, separation_hz=50)
    for name in ("a", "b"):
        distance_hz = abs(got["mics", name].frequency_hz - got["ears", name].frequency_hz)
        assert distance_hz >= 50


def test_a_performer_in_two_pairs_keeps_both_apart() -> None:
    """A pack beside a hand-held and a guitar: neither may be forgotten for the other."""
    pack = names("a")
    near_one, near_two, free = (Use(range_key="one", frequency_hz=hz) for hz in (110, 210, 300))
    found = deal(pack, (near_one, near_two, free), partners_hz={"a": (100, 200)}, separation_hz=50)
    assert found == {"a": free}


def test_many_packs_on_a_line_do_not_outweigh_a_pair_kept_apart() -> None:
    last = {"a": LOW}
    mics = dataclasses.replace(names("a"), units=100, last=last)
    found = deal(mics, (LOW, HIGH), partners_hz={"a": (LOW.frequency_hz,)}, separation_hz=50)
    assert found == {"a": HIGH}


def test_of_two_that_had_a_carrier_the_line_keeps_it_not_the_spare() -> None:
    """By hand: a line's retune weighs four times a spare's."""
    both = dataclasses.replace(names("a", spares=("s",)), last={"a": MID, "s": MID})
    assert deal(both, (LOW, MID)) == {"a": MID, "s": LOW}
