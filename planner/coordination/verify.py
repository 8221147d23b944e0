"""The verifier: every product of every set of carriers, written out in whole hertz.

It shares no code with the search: no spans, no solving for a candidate, no arrays. Each product
is formed from its sources as the definition says and compared with each carrier that protects
itself against it.
"""

from __future__ import annotations

import bisect
from typing import TYPE_CHECKING

from planner.coordination.company import TOGETHER, Company
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


def violations(
    carriers: Sequence[PlacedCarrier], company: Company = TOGETHER
) -> tuple[Violation, ...]:
    """Find everything that is wrong with a set of carriers.

    Parameters
    ----------
    carriers : sequence of PlacedCarrier
        All carriers of the stop, in any order.
    company : Company
        Who is on with whom; everybody with everybody when left out.

    Returns
    -------
    tuple of Violation
        Spacing first, then 2A-B, A+B-C and 3A-2B; empty when the set is sound. A distance
        equal to the guard is allowed; a carrier is never the victim of its own product.
    """
    return tuple(violation for violation, _ in _found(carriers, company))


def require_sound(
    carriers: Sequence[PlacedCarrier],
    fixed: Sequence[PlacedCarrier] = (),
    company: Company = TOGETHER,
) -> None:
    """Refuse a set that violates a guard, save what fixed carriers do to each other.

    Parameters
    ----------
    carriers, fixed : sequence of PlacedCarrier
        The carriers chosen, and those that stood before.
    company : Company
        Who is on with whom; everybody with everybody when left out.

    Raises
    ------
    BrokenSet
        When a chosen carrier takes part in a violation.
    """
    wrong = [
        violation
        for violation, members in _found((*carriers, *fixed), company)
        if min(members) < len(carriers)
    ]
    if wrong:
        raise BrokenSet(wrong)


def _found(
    carriers: Sequence[PlacedCarrier], company: Company
) -> Iterator[tuple[Violation, tuple[int, ...]]]:
    """Yield what is wrong, with the places of all carriers that take part."""
    yield from _spacing(carriers, company)
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
        if not any(guards):
            continue
        for violation, members in _near(frequencies, guards, products, kind):
            groups = [carriers[member].group for member in members]
            if company.counts(groups[0], tuple(groups[1:])):
                yield violation, members


def _spacing(
    carriers: Sequence[PlacedCarrier], company: Company
) -> Iterator[tuple[Violation, tuple[int, ...]]]:
    for i, one in enumerate(carriers):
        for j, two in enumerate(carriers[i + 1 :], start=i + 1):
            low, high = sorted((one.frequency_hz, two.frequency_hz))
            needed = max(
                one.guards.spacing_hz,
                two.guards.spacing_hz,
                company.separation_hz(one.group, two.group),
            )
            if high - low < needed and company.together((one.group, two.group)):
                yield (
                    Violation(
                        kind="spacing",
                        victim_hz=high,
                        sources_hz=(low,),
                        product_hz=low,
                        distance_hz=high - low,
                        guard_hz=needed,
                    ),
                    (i, j),
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
) -> Iterator[tuple[Violation, tuple[int, ...]]]:
    """Compare each victim with the products inside its guard, found by their order."""
    ordered = sorted(products)
    places = [product for product, _ in ordered]
    for victim, guard in enumerate(guards):
        first = bisect.bisect_left(places, hz[victim] - guard)
        last = bisect.bisect_right(places, hz[victim] + guard)
        for product, sources in ordered[first:last]:
            distance = abs(product - hz[victim])
            if distance < guard and victim not in sources:
                yield (
                    Violation(
                        kind=kind,
                        victim_hz=hz[victim],
                        sources_hz=tuple(hz[source] for source in sources),
                        product_hz=product,
                        distance_hz=distance,
                        guard_hz=guard,
                    ),
                    (victim, *sources),
                )
