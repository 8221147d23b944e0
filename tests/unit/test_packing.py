"""Packing: starts, steps, what stands already, proofs, and the kernel it falls back to."""

from __future__ import annotations

import pytest

from planner.coordination import (
    Budget,
    Grid,
    GuardSet,
    PlacedCarrier,
    count_fit,
    pack_carriers,
    packing,
    prepare,
    violations,
)

MHZ = 1_000_000
KHZ = 1_000
MIC = GuardSet(spacing_hz=350 * KHZ, guard_2a_b_hz=100 * KHZ, guard_a_b_c_hz=100 * KHZ)
TWO_ONLY = GuardSet(spacing_hz=350 * KHZ, guard_2a_b_hz=100 * KHZ)
WIDE = Grid(
    origin_hz=0, step_hz=25 * KHZ, windows_hz=((470 * MHZ, 482 * MHZ), (500 * MHZ, 518 * MHZ))
)


def sound(carriers_hz: tuple[int, ...], guards: GuardSet) -> bool:
    return not violations([PlacedCarrier(frequency_hz=hz, guards=guards) for hz in carriers_hz])


@pytest.mark.parametrize("guards", [MIC, TWO_ONLY])
def test_a_known_set_is_never_lost(guards: GuardSet) -> None:
    known = pack_carriers(WIDE, guards, budget=Budget(60_000))
    again = pack_carriers(WIDE, guards, budget=Budget(known.found), start_hz=known.carriers_hz)
    assert again.carriers_hz == known.carriers_hz
    cold = pack_carriers(WIDE, guards, budget=Budget(known.found))
    assert cold.found < known.found


def test_what_of_a_known_set_may_not_stand_is_left_out() -> None:
    start_hz = (471 * MHZ, 471 * MHZ + 1, 471_100_000, 490 * MHZ, 501 * MHZ)
    packed = pack_carriers(WIDE, MIC, start_hz=start_hz, budget=Budget(2))
    assert packed.carriers_hz == (471 * MHZ, 501 * MHZ)


def test_steps_are_an_exact_budget_and_decide_the_answer() -> None:
    for steps in (1, 7, 300, 5_000, 40_000):
        packed = pack_carriers(WIDE, MIC, budget=Budget(steps), seed=3)
        assert packed.steps <= steps
        assert packed == pack_carriers(WIDE, MIC, budget=Budget(steps), seed=3)
        assert sound(packed.carriers_hz, MIC)
    assert pack_carriers(WIDE, MIC, budget=Budget(1)).found == 1


def test_fixed_carriers_off_the_raster_are_kept_off() -> None:
    fixed_hz = (475_012_500, 505_003_125, 600_000_001)
    packed = pack_carriers(WIDE, MIC, fixed_hz=fixed_hz[:2], budget=Budget(20_000))
    assert set(fixed_hz[:2]) <= set(packed.carriers_hz)
    assert sound(packed.carriers_hz, MIC)
    # a unit of one hertz would make the axis too long: the kernel of many rows does it
    wide = pack_carriers(WIDE, MIC, fixed_hz=fixed_hz, budget=Budget(600))
    assert sound(wide.carriers_hz, MIC)
    assert wide.found > len(fixed_hz) + 10


def test_both_kernels_find_what_first_fit_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    """With steps for the first pass alone they give the same set."""
    for guards in (MIC, TWO_ONLY, GuardSet(spacing_hz=25 * KHZ, guard_a_b_c_hz=75 * KHZ)):
        at_once = Budget(expired=lambda: True)
        ours = pack_carriers(WIDE, guards, budget=at_once)
        with monkeypatch.context() as patch:
            patch.setattr(packing, "find_ground", lambda *_: None)
            assert pack_carriers(WIDE, guards, budget=at_once).carriers_hz == ours.carriers_hz


def test_repair_beats_first_fit_by_a_tenth_where_differences_are_protected() -> None:
    first = pack_carriers(WIDE, MIC, budget=Budget(expired=lambda: True))
    later = pack_carriers(WIDE, MIC)
    # 1.12 is the median on real windows in two seconds; these are smaller and easier
    assert later.found >= 1.1 * first.found


def test_a_short_axis_is_walked_to_its_end() -> None:
    """Nothing is assumed but the walk: 3.1 MHz with the guards of a real row."""
    short = Grid(origin_hz=0, step_hz=25 * KHZ, windows_hz=((470 * MHZ, 473_050_000),))
    packed = pack_carriers(short, MIC, budget=Budget(200_000))
    assert packed.proven
    assert packed.steps < 200_000
    assert sound(packed.carriers_hz, MIC)


def test_preparing_may_be_repeated_and_leaves_answers_alone() -> None:
    before = pack_carriers(WIDE, MIC, budget=Budget(3_000))
    prepare()
    prepare()
    assert pack_carriers(WIDE, MIC, budget=Budget(3_000)) == before


def test_counts_rise_with_effort_and_are_sound() -> None:
    counts = [count_fit(WIDE, MIC, effort=effort) for effort in ("quick", "normal", "long")]
    sizes = [len(fit.carriers_hz) for fit in counts]
    assert sizes == sorted(sizes)
    assert sizes[0] < sizes[2]
    assert all(sound(fit.carriers_hz, MIC) for fit in counts)


def test_counting_with_carriers_of_other_guards_uses_the_kernel_of_many_rows() -> None:
    other = PlacedCarrier(frequency_hz=475 * MHZ, guards=TWO_ONLY)
    fit = count_fit(WIDE, MIC, fixed=[other])
    chosen = [PlacedCarrier(frequency_hz=hz, guards=MIC) for hz in fit.carriers_hz]
    assert not violations([*chosen, other])
    assert len(chosen) > 10
