"""The verifier on cases worked by hand, and the nearest product of each carrier."""

from __future__ import annotations

import itertools
import time

import pytest

from planner.coordination import (
    BrokenSet,
    GuardSet,
    NearestProduct,
    PlacedCarrier,
    nearest_products,
    require_sound,
    violations,
)

KHZ = 1_000


def carrier(
    mhz: float, *, spacing: int = 0, two: int = 0, three: int = 0, fifth: int = 0
) -> PlacedCarrier:
    """Return a carrier with guards in kHz."""
    return PlacedCarrier(
        frequency_hz=round(mhz * 1e6),
        guards=GuardSet(
            spacing_hz=spacing * KHZ,
            guard_2a_b_hz=two * KHZ,
            guard_a_b_c_hz=three * KHZ,
            guard_3a_2b_hz=fifth * KHZ,
        ),
    )


def kinds(*carriers: PlacedCarrier) -> list[tuple[str, int]]:
    return [(found.kind, found.victim_hz) for found in violations(carriers)]


def test_spacing_is_the_larger_of_the_two_and_equality_is_allowed() -> None:
    assert kinds(carrier(500, spacing=350), carrier(500.35, spacing=200)) == []
    assert kinds(carrier(500, spacing=351), carrier(500.35)) == [("spacing", 500_350_000)]


def test_2a_b_hits_only_the_row_that_protects_itself() -> None:
    # 2 x 501 - 500 = 502; 2 x 501 - 502 = 500
    assert kinds(carrier(500), carrier(501), carrier(502.05, two=50)) == []
    found = violations([carrier(500), carrier(501), carrier(502.05, two=51)])
    assert [(f.kind, f.victim_hz, f.sources_hz) for f in found] == [
        ("2A-B", 502_050_000, (501_000_000, 500_000_000))
    ]
    assert (found[0].product_hz, found[0].distance_hz, found[0].guard_hz) == (
        502_000_000,
        50_000,
        51_000,
    )
    assert found[0].line() == (
        "2 x 501.000 - 500.000 = 502.000 MHz falls 50 kHz from 502.050 MHz, 51 kHz is needed"
    )


def test_a_b_c_needs_three_different_sources_and_another_victim() -> None:
    others = (carrier(500), carrier(501), carrier(504))
    # 500 + 504 - 501 = 503
    assert kinds(*others, carrier(503, three=1)) == [("A+B-C", 503_000_000)]
    assert kinds(*others, carrier(503.001, three=1)) == []
    assert kinds(*others, carrier(503, two=999)) == []
    # 2 x 501 - 500 = 502 is no A+B-C product
    assert kinds(carrier(500), carrier(501), carrier(502, three=999)) == []


def test_3a_2b_hits_from_far_away() -> None:
    # 3 x 501 - 2 x 500 = 503
    assert kinds(carrier(500), carrier(501), carrier(503, fifth=1)) == [("3A-2B", 503_000_000)]
    assert kinds(carrier(500), carrier(501), carrier(503.001, fifth=1)) == []


def test_two_carriers_at_one_frequency_are_two_sources() -> None:
    twins = (carrier(500), carrier(500))
    assert kinds(*twins) == []
    # 2 x 500 - 500 = 500 falls on neither of its sources, and on a third at 500
    assert kinds(*twins, carrier(500, two=1)) == [("2A-B", 500_000_000)] * 2


def test_require_sound_lets_fixed_carriers_clash_among_themselves_only() -> None:
    clash = [carrier(500, spacing=350), carrier(500.1, spacing=350)]
    require_sound([carrier(510, spacing=350)], clash)
    with pytest.raises(BrokenSet, match=r"violate 1 guard\(s\), first: 500\.100 and 500\.200 MHz"):
        require_sound([carrier(500.2)], [carrier(500.1, spacing=350), carrier(499)])


def test_sixty_carriers_take_about_a_second() -> None:
    row = {"spacing": 350, "two": 100, "three": 50, "fifth": 50}
    carriers = [carrier(470 + 0.35 * k * (k + 1) / 2, **row) for k in range(60)]
    start = time.process_time()
    assert violations(carriers)
    # 0.3 s measured; the allowance is for slow and busy machines
    assert time.process_time() - start < 5


def test_nearest_product_by_hand() -> None:
    found = nearest_products(
        [
            carrier(500, two=1),
            carrier(501),
            carrier(502.25, two=1, three=1),
            carrier(504, fifth=1),
        ]
    )
    assert found == (
        # 2 x 502.25 - 504 = 500.5, 2 x 501 - 502.25 = 499.75
        NearestProduct(order="2A-B", formula="2 x 501.000 - 502.250", offset_hz=-250_000),
        None,
        NearestProduct(order="2A-B", formula="2 x 501.000 - 500.000", offset_hz=-250_000),
        # 3 x 502.25 - 2 x 501 = 504.75; 3 x 501 - 2 x 500 = 503
        NearestProduct(order="3A-2B", formula="3 x 502.250 - 2 x 501.000", offset_hz=750_000),
    )


def test_nearest_three_signal_product_and_its_formula() -> None:
    found = nearest_products(
        [carrier(500), carrier(501.5), carrier(504), carrier(505.425, three=1)]
    )
    assert found[3] == NearestProduct(
        order="A+B-C", formula="501.500 + 504.000 - 500.000", offset_hz=75_000
    )


def test_no_products_no_answer() -> None:
    assert nearest_products([]) == ()
    assert nearest_products([carrier(500, two=1)]) == (None,)
    # two carriers make products, but each is a source of all of them
    assert nearest_products([carrier(500, two=1), carrier(501, two=1)]) == (None, None)


def test_nearest_is_what_plain_loops_find() -> None:
    carriers = [carrier(470 + 1.1 * k + 0.13 * k * k, two=1, three=1) for k in range(9)]
    hz = [c.frequency_hz for c in carriers]
    for victim, nearest in enumerate(nearest_products(carriers)):
        others = [k for k in range(9) if k != victim]
        offsets = [2 * hz[a] - hz[b] - hz[victim] for a, b in itertools.permutations(others, 2)] + [
            hz[a] + hz[b] - hz[c] - hz[victim] for a, b, c in itertools.permutations(others, 3)
        ]
        assert nearest is not None
        assert abs(nearest.offset_hz) == min(map(abs, offsets))
        assert nearest.offset_hz in offsets
