"""The verifier's question for many sets: every product as one array, compared with every carrier.

It shares no code with the search, and none with :mod:`planner.coordination.verify`, which names
what is wrong; a test holds both to the same answer.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.company import TOGETHER, Company
from planner.coordination.verify import require_sound
from planner.errors import PlannerError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from planner.coordination.records import PlacedCarrier

Members = tuple[int, ...]
"""Places in the list of carriers: the victim, then the sources; for spacing both carriers."""


def clashes(carriers: Sequence[PlacedCarrier], company: Company = TOGETHER) -> tuple[Members, ...]:
    """Find which carriers violate a guard together.

    Parameters
    ----------
    carriers : sequence of PlacedCarrier
        All carriers of a set.
    company : Company
        Who is on with whom; everybody with everybody when left out.

    Returns
    -------
    tuple of tuple of int
        The members of every violation, in no order that means anything; empty when the set is
        sound. A distance equal to the guard is allowed; nobody suffers from an own product.
    """
    hz = np.array([carrier.frequency_hz for carrier in carriers], dtype=np.int64)
    groups = [carrier.group for carrier in carriers]
    sources = np.flatnonzero([carrier.source for carrier in carriers])
    guards = np.array(
        [
            (c.guards.guard_2a_b_hz, c.guards.guard_a_b_c_hz, c.guards.guard_3a_2b_hz)
            for c in carriers
        ],
        dtype=np.int64,
    ).reshape(-1, 3)
    found = list(_too_close(carriers, hz, company))
    for kind, weights in enumerate(((2, -1), (1, 1, -1), (3, -2))):
        if not guards[:, kind].any() or sources.size < len(weights):
            continue
        members = sources[_tuples(sources.size, three=len(weights) == 3)]
        products_hz = np.array(weights, dtype=np.int64) @ hz[members]
        for victim in np.flatnonzero(guards[:, kind]).tolist():
            guard_hz = guards[victim, kind]
            near = np.flatnonzero(np.abs(products_hz - hz[victim]) < guard_hz)
            found += [
                (victim, *sources_of)
                for sources_of in members[:, near].T.tolist()
                if victim not in sources_of
                and company.counts(groups[victim], tuple(groups[k] for k in sources_of))
            ]
    return tuple(found)


def require_sound_set(
    carriers: Sequence[PlacedCarrier],
    fixed: Sequence[PlacedCarrier] = (),
    *,
    company: Company = TOGETHER,
) -> None:
    """Refuse a set that violates a guard, save what fixed carriers do to each other.

    Parameters
    ----------
    carriers, fixed : sequence of PlacedCarrier
        The carriers chosen, and those that stood before.
    company : Company
        Who is on with whom.

    Raises
    ------
    BrokenSet
        When a chosen carrier takes part in a violation; the verifier says which.
    PlannerError
        When the verifier finds none.
    """
    if any(min(members) < len(carriers) for members in clashes((*carriers, *fixed), company)):
        require_sound(carriers, fixed, company)
        raise PlannerError("the two verifiers differ: a fault of the program, please report it")


def _too_close(
    carriers: Sequence[PlacedCarrier], hz: NDArray[np.int64], company: Company
) -> Iterator[Members]:
    """Yield the pairs nearer than spacing, or than the span between their groups."""
    spacing = np.array([carrier.guards.spacing_hz for carrier in carriers], dtype=np.int64)
    least = max((least_hz for *_, least_hz in company.separations_hz), default=0)
    apart = np.abs(hz[:, None] - hz[None, :])
    needed = np.maximum(spacing[:, None], spacing[None, :])
    for one, two in np.argwhere(np.triu(apart < np.maximum(needed, least), 1)).tolist():
        pair = carriers[one].group, carriers[two].group
        if company.together(pair) and apart[one, two] < max(
            needed[one, two], company.separation_hz(*pair)
        ):
            yield one, two


@functools.lru_cache(maxsize=64)
def _tuples(count: int, *, three: bool) -> NDArray[np.int64]:
    """Return all A, B, shape (2, n), or all A before B with C, shape (3, n), all different."""
    if not three:
        return np.stack(np.nonzero(~np.eye(count, dtype=np.bool_))).astype(np.int64)
    pair_a, pair_b = np.triu_indices(count, 1)
    a, b = np.repeat(pair_a, count), np.repeat(pair_b, count)
    c = np.tile(np.arange(count), pair_a.size)
    return np.stack([a, b, c])[:, (c != a) & (c != b)].astype(np.int64)
