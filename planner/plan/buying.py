"""The buying summary of a plan: a request list that a rental house can answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.plan.buying_choice import (
    changes_document,
    choice_document,
    instead_documents,
    picked_ranges,
    runner_up_document,
)
from planner.plan.buying_papers import (
    countries_document,
    papers_document,
    questions_document,
)
from planner.plan.buying_units import Store, needed_range
from planner.units import hz_to_mhz

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.records import GearRange, Need, Tour


def buying_document(
    tour: Tour, gear: Sequence[GearRange], document: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the buying summary of a finished plan.

    Parameters
    ----------
    tour, gear : Tour, sequence of GearRange
        What was asked for, and the catalogue.
    document : mapping
        The plan with all its other keys: stops with carriers, ranking, combinations, choice.

    Returns
    -------
    dict
        ``choice, runner_up, would_change, needs, stays, owned_left_over, countries, papers,
        questions``; the same input gives the same bytes.

    Notes
    -----
    Pieces of gear and spare frequencies are two numbers: see
    :mod:`planner.plan.buying_units` for what each takes.
    """
    store = Store(tour, gear)
    needs = [_need(need, gear, store, document=document) for need in tour.needs]
    return {
        "choice": choice_document(document),
        "runner_up": runner_up_document(document),
        "would_change": changes_document(document),
        "needs": needs,
        "stays": [
            {
                "name": row.name,
                "role": row.role,
                "range": row.range_key,
                "frequency_mhz": hz_to_mhz(row.frequency_hz),
            }
            for row in tour.fixed
        ],
        "owned_left_over": store.left_over(),
        "countries": countries_document(document),
        "papers": papers_document(tour, document),
        "questions": questions_document(tour, gear, needs, document=document),
    }


def _need(
    need: Need, gear: Sequence[GearRange], store: Store, *, document: Mapping[str, Any]
) -> dict[str, Any]:
    by_key = {row.key: row for row in gear}
    picked = [key for key in picked_ranges(document).get(need.name, ()) if key in by_key]
    return {
        "need": need.name,
        "role": need.role,
        "form": need.form or None,
        "lines": need.count,
        "units_per_line": need.units_per_line,
        "spare_frequencies": need.spares,
        "spare_grade": need.spare_grade,
        "ready_channels": need.spares if need.spare_grade == "full" else 0,
        "ranges": [
            needed_range(need, by_key[key], store, document=document, alone=len(picked) == 1)
            for key in picked
        ],
        "instead": [
            row | {"status": [by_key[key].status for key in row["ranges"] if key in by_key]}
            for row in instead_documents(document, need.name)
        ],
    }
