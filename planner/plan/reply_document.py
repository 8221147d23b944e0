"""An answer, judged, as a document of plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.units import hz_to_mhz

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.plan.pipeline import PlanResult
    from planner.plan.reply_clashes import Judged
    from planner.records import Assigned


def reply_document(
    result: PlanResult,
    index: int,
    judged: Judged,
    assigned: Sequence[Assigned],
    *,
    file: str,
    notes: Sequence[str] = (),
) -> dict[str, Any]:
    """Return what became of an answer, frequencies in MHz and powers in mW.

    Parameters
    ----------
    result, index : PlanResult, int
        The plan that was made with the answer, and which stop.
    judged : Judged
        What goes back, how each need is served, what is left over.
    assigned : sequence of Assigned
        What the answer gives beyond the tour file.
    file : str
        Name of the answer.
    notes : sequence of str
        How the file was understood.
    """
    stop = result.stops[index]
    return {
        "stop": stop.id,
        "place": stop.place,
        "first_date": stop.first_date.isoformat(),
        "file": file,
        "notes": list(notes),
        "needs": [
            {
                "need": row.need,
                "wanted": row.wanted,
                "given": row.given,
                "used": row.used,
                "empty": list(row.empty),
                "assigned": row.assigned,
            }
            for row in judged.needs
        ],
        "clashes": [
            {
                "need": row.need,
                "name": row.name,
                "where": row.where,
                "assigned_mhz": _mhz(row.frequency_hz),
                "kind": row.kind,
                "reason": row.reason,
                "remedy": row.remedy,
                "try_mhz": _mhz(row.try_hz),
                "reference": row.reference,
            }
            for row in judged.clashes
        ],
        "left_over": [
            {"need": need, "assigned_mhz": hz_to_mhz(hz)} for need, hz in judged.left_over
        ],
        "assigned": [
            {
                "stop": row.stop,
                "need": row.need,
                "frequencies_mhz": [hz_to_mhz(hz) for hz in row.frequencies_hz],
                "power_mw": row.power_mw,
                "reference": row.reference,
            }
            for row in assigned
        ],
    }


def _mhz(frequency_hz: int | None) -> float | None:
    return None if frequency_hz is None else hz_to_mhz(frequency_hz)
