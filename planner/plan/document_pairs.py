"""The two carriers of each performer in the plan document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.plan.duplex import BACK

if TYPE_CHECKING:
    from planner.plan.pipeline import PlanResult
    from planner.records import Stop


def mark_pairs(
    result: PlanResult, stop: Stop, records: list[dict[str, Any]]
) -> list[dict[str, str]]:
    """Write down the distance of each performer's two carriers; warn where it is too small."""
    least_mhz = result.tour.settings.pair_separation_mhz
    close: list[str] = []
    by_name = {
        (row["need"], row["name"]): row
        for row in records
        if not row["spare"] and row.get("direction") != BACK
    }
    for need in result.tour.needs:
        for line in need.lines if need.pair_with else ():
            mine, other = by_name.get((need.name, line)), by_name.get((need.pair_with, line))
            if mine is None or other is None:
                continue
            apart = round(abs(mine["frequency_mhz"] - other["frequency_mhz"]), 6)
            for one, two in ((mine, other), (other, mine)):
                one["pair"] = {
                    "need": two["need"],
                    "name": two["name"],
                    "separation_mhz": apart,
                    "kept": apart >= least_mhz,
                }
            if apart < least_mhz:
                close.append(f"{line} ({apart:g} MHz)")
    if not close:
        return []
    text = (
        f"carriers of one performer nearer than {least_mhz:g} MHz: {', '.join(close)}; the "
        "microphone beside the pack may deafen it: try before the show"
    )
    return [{"code": "pair-close", "where": stop.id, "text": text}]
