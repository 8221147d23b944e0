"""The warnings of a plan that concern the whole tour."""

from __future__ import annotations

from typing import TYPE_CHECKING

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
    yield from _about_law(result)
    yield from _about_gear(result)
    for need in result.tour.needs:
        if need.pair_with:
            yield _warning(
                "pair-separation-not-planned",
                need.name,
                f"pair_with {need.pair_with}: the distance between the two carriers of one "
                "performer is not planned in this version; look at the sheets",
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
            f"located only to {most:g} km; verdicts are computed at the one point given and may "
            "differ at the venue: give its lat and lon",
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
    assumed = sorted(
        {
            str(result.stations.station_id[result.reach.station[row]])
            for occupancy in result.occupancies
            for channel in occupancy.channels
            for row in channel.rows
            if result.reach.haat_assumed[row]
        }
    )
    if assumed:
        more = " ..." if len(assumed) > _NAMED else ""
        yield _warning(
            "haat-assumed",
            ", ".join(result.stations.files),
            f"{len(assumed)} transmitters that matter have no HAAT in the table; a height on the "
            "safe side was assumed (300 m, or more where the terrain of nearby stations asks for "
            f"it): {', '.join(assumed[:_NAMED])}{more}",
        )


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


def _about_gear(result: PlanResult) -> Iterator[Warning_]:
    for need, gear in result.choice.items():
        if gear.low_hz < _EXTERNAL_NOISE_BELOW_HZ:
            yield _warning(
                "external-noise-not-computed",
                gear.key,
                "man-made noise is not in the prediction; below 300 MHz it is often well above "
                "the receiver's own, so this range is worse than it looks",
            )
        if gear.status == "discontinued":
            yield _warning("discontinued", gear.key, f"first in order for {need}, but discontinued")
    for gear in result.gear:
        if gear.links_per_block:
            yield _warning(
                "block-not-planned",
                gear.key,
                "wideband blocks shared by several links are counted but not planned",
            )
