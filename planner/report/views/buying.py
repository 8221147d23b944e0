"""The view record of the buying summary."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from planner.report import words
from planner.report.reading import (
    Plan,
    chosen_ranges,
    merged,
    need_names,
    place_of,
    playing_stops,
    rows,
    table,
)
from planner.report.views.carriers import shortage
from planner.report.views.combinations import CombinationView, combination_views
from planner.report.views.deadlines import DeadlineView, deadline_views
from planner.report.views.law import spans
from planner.report.views.notes import NotesView, notes_view
from planner.report.views.request import RequestView, headroom_words, request_view
from planner.report.views.stop import issue_line, paper_of

COMBINATIONS = 8
"""Combinations printed at most."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RankView:
    """One range's place for a need."""

    rank: str
    range: str
    chosen: bool
    met: str
    worst_stop: str
    headroom: str
    headroom_limit: str
    common: str
    why: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NeedOrderView:
    """What a need asks to buy or hire, and the ranges compared for it.

    Attributes
    ----------
    channels, units, spares : str
        Counts; the dash where the plan does not list its needs.
    met, worst : str
        Stops met; the worst stop in one sentence. Of all needs coordinated together where the
        plan holds that, else of the chosen range alone; empty when nothing was ranked.
    """

    name: str
    use: str
    ranges: tuple[str, ...]
    channels: str
    units: str
    units_sum: str
    spares: str
    met: str
    worst: str
    ranking: tuple[RankView, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopShortView:
    """A shortage with the stop at which it is."""

    place: str
    days: str
    sentence: str
    binding: str
    cures: tuple[str, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LegView:
    """Consecutive stops that share frequencies; ``house`` lists them by need."""

    first: str
    last: str
    count: str
    house: tuple[tuple[str, str], ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class BuyingView:
    """Everything the buying summary says, as text."""

    tour: str
    issue: str
    paper: str
    days: str
    stops: int
    needs: tuple[NeedOrderView, ...]
    request: RequestView | None
    combinations: tuple[CombinationView, ...]
    combinations_more: int
    short: tuple[StopShortView, ...]
    full: str
    full_empty: bool
    deepest: tuple[tuple[str, str], ...]
    costs: tuple[tuple[str, str], ...]
    legs: tuple[LegView, ...]
    deadlines: tuple[DeadlineView, ...]
    notes: NotesView


def rank_view(plan: Plan, row: Plan) -> RankView:
    """Turn one row of the ranking into text."""
    return RankView(
        rank=str(row["rank"]),
        range=words.clean(row["range"]),
        chosen=row["range"] in chosen_ranges(plan, row["need"]),
        met=f"{row['stops_met']} of {row['stops']}",
        worst_stop=place_of(plan, row["worst_stop"]) or words.NONE,
        headroom=words.whole(row["worst_headroom"], sign=True),
        headroom_limit=words.whole(row["worst_headroom_limit"], sign=True),
        common=(
            words.NONE
            if row["common_usable_mhz"] is None
            else words.short_number(row["common_usable_mhz"])
        ),
        why=words.clean(row["why"]),
    )


def _standing(plan: Plan, name: str, ranked: list[Plan], chosen: list[str]) -> tuple[str, str]:
    """Return the stops met and the worst stop of the choice, for one need."""
    first: Plan = next((row for row in rows(plan, "combinations") if row["rank"] == 1), {})
    heads = {
        stop: mine[name]
        for stop, mine in table(first, "headrooms").items()
        if mine.get(name) is not None
    }
    if heads:
        stop = min(heads, key=lambda key: heads[key])
        met = f"{sum(head >= 0 for head in heads.values())} of {len(heads)}"
        return met, f"Worst stop: {place_of(plan, stop)}, {headroom_words(heads[stop])}."
    row = next((row for row in ranked if row["range"] in chosen), None)
    if row is None or row["worst_stop"] is None:
        return (f"{row['stops_met']} of {row['stops']}" if row else ""), ""
    place = place_of(plan, row["worst_stop"])
    worst = f"Worst stop: {place}, {headroom_words(row['worst_headroom'])}."
    return f"{row['stops_met']} of {row['stops']}", worst


def _need(plan: Plan, name: str) -> NeedOrderView:
    need: Plan = next((row for row in rows(plan, "needs") if row["name"] == name), {})
    ranked = sorted(
        (row for row in rows(plan, "ranking") if row["need"] == name), key=lambda row: row["rank"]
    )
    chosen = chosen_ranges(plan, name)
    met, worst = _standing(plan, name, ranked, chosen)
    count, each = need.get("count"), need.get("units_per_line") or 1
    return NeedOrderView(
        name=words.clean(name),
        use=", ".join(words.clean(need[key]) for key in ("role", "form") if need.get(key)),
        ranges=tuple(words.clean(key) for key in chosen),
        channels=words.whole(count),
        units=words.whole(None if count is None else count * each),
        units_sum="" if count is None else f"{count} {words.TIMES} {each}",
        spares=words.whole(need.get("spares") if need else None),
        met=met,
        worst=worst,
        ranking=tuple(rank_view(plan, row) for row in ranked),
    )


def _house(carriers: list[Any]) -> tuple[tuple[str, str], ...]:
    """Group house carriers, objects or bare frequencies, by need."""
    groups: dict[str, list[str]] = {}
    for carrier in carriers:
        if isinstance(carrier, Mapping):
            text = words.mhz(carrier.get("frequency_mhz"))
            groups.setdefault(words.clean(carrier.get("need")), []).append(text)
        else:
            text = words.clean(carrier) if isinstance(carrier, str) else words.mhz(carrier)
            groups.setdefault("", []).append(text)
    return tuple((need, ", ".join(texts)) for need, texts in groups.items())


def _leg(plan: Plan, leg: Plan) -> LegView:
    house = rows(leg, "house_carriers")
    return LegView(
        first=place_of(plan, leg["first"]),
        last=place_of(plan, leg["last"]),
        count=words.plural(len(house), "carrier"),
        house=_house(house),
    )


def _costs(plan: Plan) -> tuple[tuple[str, str], ...]:
    """List the stops without which more would be usable at all others, the dearest first [MHz]."""
    costs = table(table(plan, "common"), "stop_costs_mhz")
    dear = sorted((cost, stop) for stop, cost in costs.items() if cost)
    return tuple((place_of(plan, stop), words.short_number(cost)) for cost, stop in reversed(dear))


def deepest_spans(plan: Plan, most: int = 8) -> tuple[tuple[str, str], ...]:
    """Return the widest spans among the deepest: ``(span, "usable at 11 of 12")``."""
    depth = [
        (len(names), low, high)
        for low, high, (names,) in merged(rows(table(plan, "common"), "depth"), ("stops",))
        if names
    ]
    depth.sort(key=lambda row: (-row[0], row[1] - row[2], row[1]))
    stops = len(playing_stops(plan))
    return tuple(
        (words.mhz_span(low, high), f"usable at {count} of {stops}")
        for count, low, high in depth[:most]
    )


def _short(stop: Plan) -> list[StopShortView]:
    out = []
    for row in rows(stop, "short"):
        view = shortage(row)
        out.append(
            StopShortView(
                place=f"{words.clean(stop['place'])} ({words.clean(stop['id'])})",
                days=words.days(stop["first_date"], stop["last_date"]),
                sentence=view.sentence,
                binding=view.binding,
                cures=view.cures,
            )
        )
    return out


def buying_view(plan: Plan) -> BuyingView:
    """Make the view record of the buying summary from the whole plan."""
    stops = playing_stops(plan)
    full = rows(table(plan, "common"), "full_windows_mhz")
    combinations, more = combination_views(plan, COMBINATIONS)
    days = [stop["first_date"] for stop in stops] + [stop["last_date"] for stop in stops]
    return BuyingView(
        tour=words.clean(table(plan, "tour").get("name")),
        issue=issue_line(plan),
        paper=paper_of(plan),
        days=words.days(min(days), max(days)) if days else "",
        stops=len(stops),
        needs=tuple(_need(plan, name) for name in need_names(plan)),
        request=request_view(plan),
        combinations=combinations,
        combinations_more=more,
        short=tuple(row for stop in stops for row in _short(stop)),
        full=spans(full),
        full_empty=not full,
        deepest=deepest_spans(plan),
        costs=_costs(plan),
        legs=tuple(_leg(plan, leg) for leg in rows(table(plan, "common"), "legs")),
        deadlines=deadline_views(plan),
        notes=notes_view(plan),
    )
