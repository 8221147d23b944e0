"""Spares that stand in, in the plan document: verified one by one, explained, told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.coordination import nearest_products
from planner.coordination.verify_many import clashes
from planner.errors import PlannerError
from planner.units import format_mhz

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from planner.coordination import PlacedCarrier
    from planner.coordination.company import Company
    from planner.coordination.records import NearestProduct
    from planner.coordination.tasks import StopCarriers
    from planner.records import Need, Stop

FULL, STAND_IN = "full", "stand-in"
Replaced = tuple[int, ...]
"""Places of the lines that a carrier stands in for; empty for one that is on beside all others."""


def verify_stand_ins(
    carriers: Sequence[PlacedCarrier],
    replaced: Sequence[Replaced],
    *,
    blocks: Sequence[PlacedCarrier],
    company: Company,
) -> None:
    """Pass every stand-in through the verifier, in the place of each line it replaces.

    Parameters
    ----------
    carriers : sequence of PlacedCarrier
        All carriers of the stop; those that are on together have passed already.
    replaced : sequence of tuple of int
        For each carrier the places of the lines it stands in for.
    blocks : sequence of PlacedCarrier
        Receivers of others that are protected and make no products.
    company : Company
        Who is on with whom.

    Raises
    ------
    PlannerError
        When the verifier refuses one.

    Notes
    -----
    A violation is one of those who take part, so a set less a line has the violations of the whole
    set that the line has no part in. One look at the whole set so answers for every line.
    """
    together = [k for k, lines in enumerate(replaced) if not lines]
    where = {k: place for place, k in enumerate(together)}
    for place, lines in enumerate(replaced):
        if not lines:
            continue
        every = [*(carriers[k] for k in together), *blocks, carriers[place]]
        for members in clashes(every, company):
            if len(every) - 1 in members and not _among(lines, where).issubset(members):
                hz = ", ".join(format_mhz(every[k].frequency_hz) for k in members)
                raise PlannerError(f"the verifier refuses a stand-in: {hz} MHz clash")


def _among(lines: Replaced, where: Mapping[int, int]) -> frozenset[int]:
    """Return the places of lines among the carriers that are on together."""
    return frozenset(where[line] for line in lines)


def products_of(
    carriers: Sequence[PlacedCarrier], replaced: Sequence[Replaced], company: Company
) -> list[NearestProduct | None]:
    """Return the nearest product of every carrier.

    Parameters
    ----------
    carriers, replaced, company
        As for :func:`verify_stand_ins`.

    Returns
    -------
    list of (NearestProduct or None)
        Of a stand-in the nearest one over all lines it may replace.
    """
    together = [k for k, lines in enumerate(replaced) if not lines]
    found: list[NearestProduct | None] = [None] * len(carriers)
    first = nearest_products([carriers[k] for k in together], company)
    for k, product in zip(together, first, strict=True):
        found[k] = product
    for place, lines in enumerate(replaced):
        # who replaces more than three lines violates nothing beside any, as no violation has more
        # members than that beside the spare; so the whole set is looked at
        for line in lines if len(lines) <= 3 else (None,) * bool(lines):
            others = [carriers[k] for k in together if k != line]
            product = nearest_products([*others, carriers[place]], company)[-1]
            known = found[place]
            if known is None or (product and abs(product.offset_hz) < abs(known.offset_hz)):
                found[place] = product
    return found


def stand_in_warnings(
    stop: Stop, needs: Sequence[Need], plan: StopCarriers
) -> Iterator[dict[str, str]]:
    """Yield what a crew must know of the stand-ins of a stop.

    Parameters
    ----------
    stop, needs, plan : Stop, sequence of Need, StopCarriers
        The stop, the needs of the tour, and the carriers found.
    """
    for need in needs:
        mine = {name: lines for (own, name), lines in plan.stand_ins.items() if own == need.name}
        if not mine:
            continue
        if need.spare_grade == FULL:
            count = len(mine)
            some = f"{count} spare{'s' * (count != 1)} of {need.name}"
            yield {
                "code": "stand-in-spares",
                "where": stop.id,
                "text": f"{some} only fit{'s' * (count == 1)} in the place of a line, not beside "
                "all: switch the line off first; the list says which",
            }
        covered = {line for lines in mine.values() for line in lines}
        bare = [line for line in need.lines if (need.name, line) in plan.carriers]
        bare = [line for line in bare if line not in covered]
        full = any(
            own == need.name and name not in need.lines and (own, name) not in plan.stand_ins
            for own, name in plan.carriers
        )
        if bare and not full:
            yield {
                "code": "line-without-spare",
                "where": stop.id,
                "text": f"no spare of {need.name} fits in the place of {', '.join(bare)}",
            }
