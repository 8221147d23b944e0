"""The product nearest to each carrier, for the sheets."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

import numpy as np

from planner.coordination.company import TOGETHER, Company
from planner.coordination.records import NearestProduct, product_formula

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.coordination.records import GuardSet, PlacedCarrier


def nearest_products(
    carriers: Sequence[PlacedCarrier], company: Company = TOGETHER
) -> tuple[NearestProduct | None, ...]:
    """Return for each carrier the nearest product that its row protects against.

    Parameters
    ----------
    carriers : sequence of PlacedCarrier
        All carriers of the stop.
    company : Company
        Who is on with whom; everybody with everybody when left out.

    Returns
    -------
    tuple of (NearestProduct or None)
        One a carrier, in order; None where its row protects against nothing or there is no
        product. Of equally near ones the order 2A-B, A+B-C, 3A-2B decides, then the sources.
    """
    every = np.array([carrier.frequency_hz for carrier in carriers], dtype=np.int64)
    groups = np.array([carrier.group for carrier in carriers], dtype=np.int64)
    places = np.flatnonzero([carrier.source for carrier in carriers])
    hz = every[places]
    found = [
        (kind, product_hz, places[sources])
        for kind, products in (
            ("2A-B", functools.partial(_two_sources, hz, 2)),
            ("A+B-C", functools.partial(_three_sources, hz)),
            ("3A-2B", functools.partial(_two_sources, hz, 3)),
        )
        if any(_guard_hz(carrier.guards, kind) for carrier in carriers)
        for product_hz, sources in [products()]
        if product_hz.size
    ]
    results: list[NearestProduct | None] = []
    for victim, carrier in enumerate(carriers):
        best: NearestProduct | None = None
        for kind, product_hz, sources in found:
            if not _guard_hz(carrier.guards, kind):
                continue
            silent = (sources == victim).any(axis=0)
            if len(company.groups) > 1 or company.silent:
                silent |= ~_counts(company, groups[victim], groups[sources])
            offset_hz = np.where(
                silent,
                np.iinfo(np.int64).max,
                product_hz - carrier.frequency_hz,
            )
            nearest = int(np.argmin(np.abs(offset_hz)))
            offset = int(offset_hz[nearest])
            if offset == np.iinfo(np.int64).max:
                continue
            if best is None or abs(offset) < abs(best.offset_hz):
                formula = product_formula(kind, tuple(every[sources[:, nearest]].tolist()))
                best = NearestProduct(order=kind, formula=formula, offset_hz=offset)
        results.append(best)
    return tuple(results)


def _counts(company: Company, victim: int, sources: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Say of products, their sources' groups of shape (2 or 3, n), whether they count."""
    size = len(company.groups)
    code = np.ravel_multi_index(tuple(sources), (size,) * sources.shape[0])
    kinds, which = np.unique(code, return_inverse=True)
    counts = [
        company.counts(int(victim), tuple(int(group) for group in found))
        for found in zip(*np.unravel_index(kinds, (size,) * sources.shape[0]), strict=True)
    ]
    return np.array(counts, dtype=np.bool_)[which]


def _guard_hz(guards: GuardSet, kind: str) -> int:
    return {
        "2A-B": guards.guard_2a_b_hz,
        "A+B-C": guards.guard_a_b_c_hz,
        "3A-2B": guards.guard_3a_2b_hz,
    }[kind]


def _two_sources(hz: NDArray[np.int64], times: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return ``times * A - (times - 1) * B`` and the positions of A and B, shape (2, n)."""
    a, b = np.nonzero(~np.eye(hz.size, dtype=np.bool_))
    return times * hz[a] - (times - 1) * hz[b], np.stack([a, b])


def _three_sources(hz: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return ``A + B - C`` with A before B, and the positions of A, B, C, shape (3, n)."""
    pair_a, pair_b = np.triu_indices(hz.size, 1)
    a, b = np.repeat(pair_a, hz.size), np.repeat(pair_b, hz.size)
    c = np.tile(np.arange(hz.size), pair_a.size)
    keep = (c != a) & (c != b)
    a, b, c = a[keep], b[keep], c[keep]
    return hz[a] + hz[b] - hz[c], np.stack([a, b, c])
