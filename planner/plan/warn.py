"""The warnings of a plan that concern the whole tour."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.plan.blocks import block_warnings
from planner.plan.clearances import statement_warnings
from planner.plan.heights import height_warnings
from planner.plan.world_law import law_warnings
from planner.reach import stops_by_p1546

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.plan.pipeline import PlanResult

Warning_ = dict[str, str]
"""Code, where, text."""

_EXTERNAL_NOISE_BELOW_HZ = 300_000_000
_OLD_DAYS = 731
"""A table older than 24 months at the first stop is told."""
_APART_DAYS = 366
"""Tables of one tour further apart than a year are told; our own limit."""
_VAGUE_KM = 1.0
"""A stop located worse than this is told."""
_NAMED = 5
"""Stations named in a warning; the rest is counted."""


def tour_warnings(result: PlanResult) -> Iterator[Warning_]:
    """Yield the warnings that concern the whole tour, as ``{code, where, text}``."""
    for code, where, text in result.tour.warnings:
        yield _warning(code, where, text)
    yield from _about_places(result)
    yield from _about_tables(result)
    yield from _about_fields(result)
    yield from _about_law(result)
    yield from law_warnings(result)
    yield from statement_warnings(result)
    yield from _about_gear(result)
    yield from block_warnings(result)
    yield from _about_choice(result)


def _about_choice(result: PlanResult) -> Iterator[Warning_]:
    better = result.joint.better
    if better is None:
        return
    first = result.joint.combinations[0]
    told = "; ".join(f"{need}: {' and '.join(keys)}" for need, keys in better.ranges.items())
    yield _warning(
        "choice-kept",
        ", ".join(f"{' and '.join(keys)}" for keys in first.ranges.values()),
        f"kept from the earlier plan, at {first.stops_met} of {first.stops} stops met; planned "
        f"afresh (--fresh) {told} would come first, at {better.stops_met}",
    )


def _warning(code: str, where: str, text: str) -> Warning_:
    return {"code": code, "where": where, "text": text}


def _about_places(result: PlanResult) -> Iterator[Warning_]:
    vague = [stop for stop in result.stops if stop.location_error_km >= _VAGUE_KM]
    if vague:
        most = max(stop.location_error_km for stop in vague)
        more = " ..." if len(vague) > _NAMED else ""
        yield _warning(
            "place-vague",
            ", ".join(stop.id for stop in vague[:_NAMED]) + more,
            f"located only to {most:g} km, planned with the worst verdict within; {_freed(result)}",
        )


def _freed(result: PlanResult) -> str:
    """Say what the venues' coordinates would free; they never cost, as the worst is planned."""
    freed = {
        stop.id: len(rows) for stop, rows in zip(result.stops, result.at_risk, strict=True) if rows
    }
    if not freed:
        return "at the point given no TV channel has another verdict"
    listed = ", ".join(f"{stop} {count}" for stop, count in [*freed.items()][:_NAMED])
    more = f" and at {len(freed) - _NAMED} more stops" if len(freed) > _NAMED else ""
    total = sum(freed.values())
    return (
        f"with the venue at the point given, its lat and lon would free {total} TV "
        f"channel{'s' * (total != 1)} ({listed}{more}); coordinates never cost any"
    )


def _about_tables(result: PlanResult) -> Iterator[Warning_]:
    for file, claim in zip(result.stations.files, result.stations.coverages, strict=True):
        if claim.partial:
            yield _warning(
                "coverage-unknown",
                file,
                "no coverage sidecar: what the table lacks is not known; every verdict from it "
                "is partial",
            )
    yield from _about_dates(result)
    lacking = np.flatnonzero(result.stations.lacks_pattern)
    if lacking.size:
        named = result.stations.station_id[lacking[:_NAMED]].tolist()
        yield _warning(
            "pattern-unknown",
            ", ".join(sorted({result.stations.files[k] for k in result.stations.table[lacking]})),
            f"{lacking.size} transmitters name a pattern that no companion table holds; each "
            "counts as non-directional, with its greatest ERP in every direction, the safe side: "
            f"{', '.join(named)}{' ...' if lacking.size > _NAMED else ''}",
        )
    yield from height_warnings(result)


def _about_dates(result: PlanResult) -> Iterator[Warning_]:
    issued = [
        (claim.issued, file)
        for file, claim in zip(result.stations.files, result.stations.coverages, strict=True)
        if claim.issued is not None
    ]
    first = min((stop.first_date for stop in result.stops), default=None)
    for date, file in issued:
        if first is not None and (first - date).days > _OLD_DAYS:
            yield _warning(
                "table-old",
                file,
                f"issued {date}, more than 24 months before the first stop on {first}: stations "
                "may have come, moved or gone; look for a newer table",
            )
    if issued and (max(issued)[0] - min(issued)[0]).days > _APART_DAYS:
        (old, old_file), (new, new_file) = min(issued), max(issued)
        yield _warning(
            "tables-apart",
            f"{old_file}, {new_file}",
            f"issued {old} and {new}: one may list what the other has dropped",
        )


def _about_law(result: PlanResult) -> Iterator[Warning_]:
    if any(rules.code == "US" for rules in result.rules):
        yield _warning(
            "unconfirmed-figures",
            "United States",
            "power limits, the 200 kHz limit and the licence-exempt 4 km of 47 CFR 15.236 and "
            "74.861 come from secondary sources or from memory; the stricter figure is used",
        )


def _about_fields(result: PlanResult) -> Iterator[Warning_]:
    """Tell where the user's field model is not the one that the country's rules stand on."""
    model = result.tour.settings.field_model
    used, usual = stops_by_p1546(result.rules, model), stops_by_p1546(result.rules)
    other = [stop.id for stop, moved in zip(result.stops, used != usual, strict=True) if moved]
    if not other:
        return
    more = f" and {len(other) - _NAMED} more" if len(other) > _NAMED else ""
    yield _warning(
        "field-model",
        ", ".join(other[:_NAMED]) + more,
        "fields by ITU-R P.1546 as field_model asks; contours stay on the FCC's curves, which "
        "their rule names"
        if model == "p1546"
        else "fields and what counts as received by the FCC's curves, as field_model asks: they "
        "know no sea, over which a station can arrive 30 dB stronger; not the safe side there",
    )


def _about_gear(result: PlanResult) -> Iterator[Warning_]:
    for need, gear in ((need, row) for need, rows in result.choice.items() for row in rows):
        if gear.low_hz < _EXTERNAL_NOISE_BELOW_HZ:
            yield _warning(
                "external-noise-not-computed",
                gear.key,
                "man-made noise is not in the prediction; below 300 MHz it is often well above "
                "the receiver's own, so this range is worse than it looks",
            )
        if gear.status == "discontinued":
            yield _warning("discontinued", gear.key, f"chosen for {need}, but discontinued")
