"""The sentences of a plan: cautions, coverage, what binds a shortage."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.coordination.blocks import wanted_blocks
from planner.occupancy import account
from planner.occupancy.records import AIR_ORDER
from planner.plan.duplex import with_returns
from planner.plan.scope import excluded_at
from planner.rules import rule_country

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.occupancy import AirSpan
    from planner.plan.pipeline import PlanResult
    from planner.records import GearRange, Need

CAUTIONS = (
    (
        "A prediction is not a permission. Licensing and local rules come first; a licensed "
        "coordinator decides."
    ),
    (
        "Verify every frequency by a scan on site before going on air; the field may differ by "
        "10 dB and more from the prediction."
    ),
    (
        "Nothing in the table is never nothing on the air: tables lack stations, and other users "
        "(other productions, low-power services, data) stand in none."
    ),
    (
        "Predictions hold for the point given and flat average terrain; hills and walls are not "
        "in them. A transmitting antenna whose pattern no table holds counts as non-directional."
    ),
    (
        "Distances to contours use published curves, not measurements; a permit or a move of a "
        "station since the table's date is not known here."
    ),
)


def coverage_notes(result: PlanResult, index: int) -> Iterator[str]:
    """Yield what the loaded tables lack for one stop, in sentences."""
    stations = result.stations
    claims = [claim for claim in stations.coverages if not claim.partial]
    yield "Nothing in the table is never nothing on the air."
    for file, claim in zip(stations.files, stations.coverages, strict=True):
        if claim.partial:
            yield f"{file}: no coverage sidecar, so what it lacks is not known."
            continue
        issued = f" (issued {claim.issued.isoformat()})" if claim.issued else ""
        services = ", ".join(claim.services) or "services not said"
        countries = ", ".join(claim.countries) or "countries not said"
        note = f" {claim.missing_note}" if claim.missing_note else ""
        yield f"{file}{issued} covers {services} of {countries} only.{note}"
    home = rule_country(result.stops[index].country)
    tv = result.rules[index].raster
    if (
        tv
        and len(claims) == len(stations.coverages)
        and all(home not in {rule_country(c) for c in claim.countries} for claim in claims)
    ):
        yield (
            f"No loaded table covers {home}: its TV channels are unlisted here. Supply a station "
            f"table of the television transmitters of {home} (station_table in [tour]; passband "
            "stations makes one from a regulator's file)."
        )
    table_countries = {rule_country(c) for claim in stations.coverages for c in claim.countries}
    lacking = [
        code
        for code in result.neighbours[index]
        if code != home and table_countries and code not in table_countries
    ]
    if lacking:
        yield (
            f"No loaded table covers {', '.join(lacking)}, within 100 km of this stop: its "
            "stations are not in any verdict here."
        )


def worst_air(spans: Sequence[AirSpan], low_hz: int, high_hz: int) -> AirSpan | None:
    """Return the worst verdict that a span touches, None outside the searched span."""
    touched = [span for span in spans if span.low_hz < high_hz and low_hz < span.high_hz]
    return min(touched, key=lambda span: AIR_ORDER.index(span.air), default=None)


def binding(result: PlanResult, index: int, need: str) -> str:
    """Say what binds a need at a stop: the bound, the search, or the company of other needs."""
    stop = result.stops[index]
    wanted = next(row for row in result.tour.needs if row.name == need)
    if need not in result.choice:
        return f"no range of the catalogue has role {wanted.role} in a form this need takes"
    if (stop.id, need) in result.assigned:
        usable_hz = {hz for points in result.assigned[stop.id, need] for hz in points.usable_hz}
        plan = result.route.stops[index]
        fit = sum(key[0] == need and key not in plan.stand_ins for key in plan.carriers)
        return (
            f"{len(usable_hz)} assigned frequencies can be used one by one, {fit} together beside "
            f"all others here, {wanted.count + wanted.full_spares} are wanted"
        )
    return _in_spectrum(result, index, wanted)


def _in_spectrum(result: PlanResult, index: int, wanted: Need) -> str:
    """Say what binds a need whose frequencies are free to choose."""
    need, stop = wanted.name, result.stops[index]
    rows, total = result.choice[need], wanted.count + wanted.full_spares
    if rows[0].links_per_block:
        return _in_blocks(result, index, wanted)
    counts = [result.counts[gear.key, stop.id] for gear in rows]
    limit = sum(count.clear_limit for count in counts)
    limit += min(wanted.full_spares, sum(count.faint_limit for count in counts))
    spectrum = "; ".join(_account(result, index, gear) for gear in with_returns(rows))
    plan = result.route.stops[index]
    if all((need, line) in plan.carriers for line in wanted.lines) and not wanted.full_spares:
        return f"every line fits, but no further spare in the place of one; {spectrum}"
    stock = [gear.available for gear in rows]
    if all(pieces is not None for pieces in stock) and sum(p or 0 for p in stock) < total:
        return f"{sum(p or 0 for p in stock)} pieces in stock for {total} carriers"
    if limit < total:
        return f"proven: at most {limit} of {total} carriers fit; {spectrum}"
    found = max(count.found(wanted.full_spares) for count in counts)
    if len(rows) == 1 and found < total:
        return f"{found} of {total} carriers found, bound {limit}: not proven short; {spectrum}"
    return (
        f"alone {found} carriers fit of {total} wanted, but not beside the other needs and the "
        f"carriers that stand at this stop; {spectrum}"
    )


def _in_blocks(result: PlanResult, index: int, wanted: Need) -> str:
    """Say what binds a need that is served by wideband blocks."""
    stop, row = result.stops[index], result.choice[wanted.name][0]
    count = result.counts[row.key, stop.id]
    blocks = wanted_blocks(wanted, row.links_per_block)
    spares = sum(block.spare for block in blocks)
    limit = count.clear_limit + min(spares, count.faint_limit)
    found = len(count.clear_hz) + min(spares, len(count.faint_hz))
    asked = f"{len(blocks)} blocks of {row.bandwidth_hz / 1e6:g} MHz"
    asked += f" ({spares} spare)" * (spares > 0)
    spectrum = _account(result, index, row)
    if row.available is not None and row.available < len(blocks) - spares:
        return f"{row.available} pieces in stock for {len(blocks) - spares} blocks"
    if limit < len(blocks):
        return f"proven: whole windows for at most {limit} of {asked}; {spectrum}"
    if found < len(blocks):
        return f"{found} of {asked} found, bound {limit}: not proven short; {spectrum}"
    return (
        f"alone {found} blocks fit where {asked} are wanted, but not beside the other needs and "
        f"the carriers that stand at this stop; {spectrum}"
    )


def _account(result: PlanResult, index: int, gear: GearRange) -> str:
    """Say where the spectrum of a range goes at a stop."""
    stop = result.stops[index]
    windows = result.windows[gear.key, stop.id]
    where = account(gear, result.occupancies[index], windows, excluded_at(result.tour, stop))
    usable = where.pop("usable") / 1e6
    rest = ", ".join(f"{word} {width / 1e6:g}" for word, width in where.items() if width)
    return f"{usable:g} MHz usable in {gear.key}" + (f"; of the rest {rest} MHz" if rest else "")
