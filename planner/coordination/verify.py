"""The verifier: every product of every set of carriers, written out in whole hertz.

It shares no code with the search: no spans, no solving for a candidate, no arrays. Each product
is formed from its sources as the definition says and compared with each carrier that protects
itself against it.
"""

from __future__ import annotations

import bisect
from typing import TYPE_CHECKING

from planner.coordination.records import Kind, PlacedCarrier, Violation
from planner.errors import PlannerError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    Product = tuple[int, tuple[int, ...]]
    """Frequency [Hz], and the positions of its sources in the list of carriers."""


class BrokenSet(PlannerError):  # noqa: N818 - names the condition
    """A set of carriers that the search gave and the verifier refused: our own fault.

    Parameters
    ----------
    found : sequence of Violation
        What is wrong with it.
    """

    def __init__(self, found: Sequence[Violation]) -> None:
        self.found = tuple(found)
        super().__init__(
            f"the carriers found violate {len(found)} guard(s), first: {found[0].line()}; "
            "this is a fault of the program, please report it"
        )


def violations(carriers: Sequence[PlacedCarrier]) -> tuple[Violation, ...]:
    """Find everything that is wrong with a set of carriers.

    Parameters
    ----------
    carriers : sequence of PlacedCarrier
        All carriers that may be on the air together, in any order.

    Returns
    -------
    tuple of Violation
        Spacing first, then 2A-B, A+B-C and 3A-2B; empty when the set is sound. A distance
        equal to the guard is allowed; a carrier is never the victim of its own product.
    """
    found = list(_spacing(carriers))
    frequencies = [carrier.frequency_hz for carrier in carriers]
    sources = [k for k, carrier in enumerate(carriers) if carrier.source]
    kinds: tuple[tuple[Kind, list[int], Iterator[Product]], ...] = (
        ("2A-B", [c.guards.guard_2a_b_hz for c in carriers], _two_a_b(frequencies, sources)),
        ("A+B-C", [c.guards.guard_a_b_c_hz for c in carriers], _a_b_c(frequencies, sources)),
        (
            "3A-2B",
            [c.guards.guard_3a_2b_hz for c in carriers],
            _three_a_two_b(frequencies, sources),
        ),
    )
    for kind, guards, products in kinds:
        if any(guards):
            found.extend(_near(frequencies, guards, products, kind))
    return tuple(found)


def require_sound(carriers: Sequence[PlacedCarrier], fixed: Sequence[PlacedCarrier] = ()) -> None:
    """Refuse a set that violates a guard, save what fixed carriers do to each other.

    Parameters
    ----------
    carriers, fixed : sequence of PlacedCarrier
        The carriers chosen, and those that stood before.

    Raises
    ------
    BrokenSet
        When a chosen carrier takes part in a violation.
    """
    chosen = {carrier.frequency_hz for carrier in carriers}
    wrong = [v for v in violations((*carriers, *fixed)) if chosen.intersection(v.carriers_hz)]
    if wrong:
        raise BrokenSet(wrong)


def _spacing(carriers: Sequence[PlacedCarrier]) -> Iterator[Violation]:
    for i, one in enumerate(carriers):
        for two in carriers[i + 1 :]:
            low, high = sorted((one.frequency_hz, two.frequency_hz))
            needed = max(one.guards.spacing_hz, two.guards.spacing_hz)
            if high - low < needed:
                yield Violation(
                    kind="spacing",
                    victim_hz=high,
                    sources_hz=(low,),
                    product_hz=low,
                    distance_hz=high - low,
                    guard_hz=needed,
                )


def _two_a_b(hz: Sequence[int], sources: Sequence[int]) -> Iterator[Product]:
    for a in sources:
        for b in sources:
            if a != b:
                yield 2 * hz[a] - hz[b], (a, b)


def _a_b_c(hz: Sequence[int], sources: Sequence[int]) -> Iterator[Product]:
    for place, a in enumerate(sources):
        for b in sources[place + 1 :]:
            total = hz[a] + hz[b]
            for c in sources:
                if c not in (a, b):
                    yield total - hz[c], (a, b, c)


def _three_a_two_b(hz: Sequence[int], sources: Sequence[int]) -> Iterator[Product]:
    for a in sources:
        for b in sources:
            if a != b:
                yield 3 * hz[a] - 2 * hz[b], (a, b)


def _near(
    hz: Sequence[int], guards: Sequence[int], products: Iterator[Product], kind: Kind
) -> Iterator[Violation]:
    """Compare each victim with the products inside its guard, found by their order."""
    ordered = sorted(products)
    places = [product for product, _ in ordered]
    for victim, guard in enumerate(guards):
        first = bisect.bisect_left(places, hz[victim] - guard)
        last = bisect.bisect_right(places, hz[victim] + guard)
        for product, sources in ordered[first:last]:
            distance = abs(product - hz[victim])
            if distance < guard and victim not in sources:
                yield Violation(
                    kind=kind,
                    victim_hz=hz[victim],
                    sources_hz=tuple(hz[source] for source in sources),
                    product_hz=product,
                    distance_hz=distance,
                    guard_hz=guard,
                )
