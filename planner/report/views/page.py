"""The view record of the tour page: the plan reduced to what the page shows, in columns."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from planner.report import words
from planner.report.reading import (
    Plan,
    merged,
    need_names,
    place_of,
    playing_stops,
    rows,
    table,
    unit_of,
)
from planner.report.views.buying import rank_view
from planner.report.views.combinations import CombinationView, combination_views
from planner.report.views.notes import coverage_lines
from planner.report.views.page_map import MapPart, map_part
from planner.report.views.page_stop import StopPart, stop_part
from planner.report.views.stop import issue_line

if TYPE_CHECKING:
    from collections.abc import Mapping

MOST_COMBINATIONS = 60

Span = tuple[float, float]
"""Low and high [MHz]."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NeedPart:
    """A need as the page names it; counts are the dash where the plan does not list needs."""

    name: str
    role: str
    use: str
    wanted: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RankPart:
    """One range's place for a need, with its headroom stop by stop.

    Attributes
    ----------
    need : int
        Index of the need.
    order : tuple of float or None
        Rank, stops met, headroom at the worst stop, its bound and shared MHz, to sort by.
    heads : tuple of int or None
        Carriers found minus carriers wanted, in the order of the stops.
    """

    need: int
    range: str
    chosen: bool
    rank: str
    met: str
    worst: str
    headroom: str
    limit: str
    common: str
    why: str
    order: tuple[float | None, ...]
    heads: tuple[int | None, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CombinationPart:
    """One combination of ranges over all needs.

    Attributes
    ----------
    ranges : tuple of str
        In the order of the needs, empty where the combination names none.
    order : tuple of float or None
        Rank, stops met, retunes and chance, to sort by.
    heads : tuple of tuple of int or None
        Stop by stop, the headroom of every need.
    """

    ranges: tuple[str, ...]
    rank: str
    met: str
    worst: str
    headrooms: tuple[str, ...]
    retunes: str
    chance: str
    why: str
    order: tuple[float | None, ...]
    heads: tuple[tuple[int | None, ...], ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RoutePart:
    """Where the route is usable.

    Attributes
    ----------
    depth : tuple of (float, float, int)
        Low and high [MHz] and at how many stops the span is usable.
    full : tuple of Span
        Usable at every stop.
    searched : tuple of Span
        Spans searched at any stop.
    """

    depth: tuple[tuple[float, float, int], ...]
    full: tuple[Span, ...]
    searched: tuple[Span, ...]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class PagePart:
    """Everything the tour page says; figures that are read are text, figures to draw are numbers.

    Attributes
    ----------
    words : mapping
        What every word of air and law means.
    beside : tuple of (str, str)
        Other pages beside this one: what they are and their files.
    """

    tour: str
    issue: str
    days: str
    unit: str
    verdict: str
    words: Mapping[str, Any]
    cautions: tuple[str, ...]
    coverage: tuple[str, ...]
    warnings: tuple[tuple[str, str], ...]
    beside: tuple[tuple[str, str], ...]
    needs: tuple[NeedPart, ...]
    ranking: tuple[RankPart, ...]
    combinations: tuple[CombinationPart, ...]
    combinations_more: int
    route: RoutePart
    stops: tuple[StopPart, ...]
    map: MapPart


def _needs(plan: Plan) -> tuple[NeedPart, ...]:
    listed = {need["name"]: need for need in rows(plan, "needs")}
    out = []
    for name in need_names(plan):
        need: Plan = listed.get(name, {})
        count, spares = need.get("count"), need.get("spares") or 0
        out.append(
            NeedPart(
                name=words.clean(name),
                role=words.clean(need.get("role")) or _role_of(plan, name),
                use=", ".join(words.clean(need[key]) for key in ("role", "form") if need.get(key)),
                wanted=words.NONE
                if count is None
                else f"{count} + {words.plural(spares, 'spare')}"
                if spares
                else str(count),
            )
        )
    return tuple(out)


def _role_of(plan: Plan, need: str) -> str:
    """Return the role of a need that the plan does not list, from its carriers."""
    for stop in rows(plan, "stops"):
        for carrier in rows(stop, "carriers"):
            if carrier.get("need") == need and carrier.get("role"):
                return words.clean(carrier["role"])
    return ""


def _ranking(plan: Plan, needs: list[str], ids: list[str]) -> tuple[RankPart, ...]:
    out = []
    for row in rows(plan, "ranking"):
        view = rank_view(plan, row)
        heads = table(row, "headrooms")
        out.append(
            RankPart(
                need=needs.index(row["need"]),
                range=view.range,
                chosen=view.chosen,
                rank=view.rank,
                met=view.met,
                worst=view.worst_stop,
                headroom=view.headroom,
                limit=view.headroom_limit,
                common=view.common,
                why=words.sentence(view.why),
                order=(
                    row["rank"],
                    row["stops_met"],
                    row["worst_headroom"],
                    row["worst_headroom_limit"],
                    row["common_usable_mhz"],
                ),
                heads=tuple(heads.get(stop) for stop in ids),
            )
        )
    return tuple(out)


def _combination(
    row: Plan, view: CombinationView, needs: list[str], ids: list[str]
) -> CombinationPart:
    heads = table(row, "headrooms")
    named = list(table(row, "ranges"))
    ranges = dict(zip(named, (keys for _, keys in view.ranges), strict=True))
    headrooms = dict(zip(named, view.headrooms, strict=True))
    chance = row.get("chance_all_stops")
    return CombinationPart(
        ranges=tuple(ranges.get(need, "") for need in needs),
        rank=view.rank,
        met=view.met,
        worst=view.worst_stop,
        headrooms=tuple(headrooms.get(need, words.NONE) for need in needs),
        retunes=view.retunes,
        chance=words.chance(chance),
        why=words.sentence(view.why),
        order=(row["rank"], row["stops_met"], row["retunes"], chance),
        heads=tuple(tuple(table(heads, stop).get(need) for need in needs) for stop in ids),
    )


def _combinations(
    plan: Plan, needs: list[str], ids: list[str]
) -> tuple[tuple[CombinationPart, ...], int]:
    views, more = combination_views(plan, MOST_COMBINATIONS)
    every = sorted(rows(plan, "combinations"), key=lambda row: row["rank"])
    return tuple(
        _combination(row, view, needs, ids)
        for row, view in zip(every[: len(views)], views, strict=True)
    ), more


def _route(plan: Plan) -> RoutePart:
    common = table(plan, "common")
    searched: list[Span] = []
    every = [span for stop in playing_stops(plan) for span in rows(stop, "spans")]
    searched.extend((low, high) for low, high, _ in merged(every, ()))
    depth = tuple(
        (low, high, len(names or ()))
        for low, high, (names,) in merged(rows(common, "depth"), ("stops",))
    )
    return RoutePart(
        depth=depth,
        full=tuple((low, high) for low, high in rows(common, "full_windows_mhz")),
        searched=tuple(searched),
    )


def _verdict(plan: Plan) -> str:
    """Return the reason of the first combination, else of the first range of every need."""
    first = next((row for row in rows(plan, "combinations") if row["rank"] == 1), None)
    if first is not None:
        return words.sentence(words.clean(first["why"]))
    return " ".join(
        f"{words.sentence(words.clean(row['need']))[:-1]}: {words.clean(row['why'])}."
        for row in rows(plan, "ranking")
        if row["rank"] == 1
    )


def page_view(plan: Plan, sheets: Mapping[str, str]) -> PagePart:
    """Make the view record of the tour page.

    Parameters
    ----------
    plan : mapping
        A valid plan, as ``json.load`` gives it.
    sheets : mapping of str to str
        File name of every played stop's sheet, beside the page, by stop id.
    """
    stops = playing_stops(plan)
    ids = [stop["id"] for stop in stops]
    needs = need_names(plan)
    usable: dict[str, list[Plan]] = {stop: [] for stop in ids}
    for span in rows(table(plan, "common"), "depth"):
        for stop in span.get("stops") or ():
            if stop in usable:
                usable[stop].append(span)
    days = [stop["first_date"] for stop in stops] + [stop["last_date"] for stop in stops]
    combinations, more = _combinations(plan, needs, ids)
    places = map_part(plan, stops)
    return PagePart(
        tour=words.clean(table(plan, "tour").get("name")),
        issue=issue_line(plan),
        days=words.days(min(days), max(days)) if days else "",
        unit=unit_of(plan),
        verdict=_verdict(plan),
        words={"air": words.AIR_MEANS, "law": words.LAW_MEANS},
        cautions=tuple(words.clean(caution) for caution in rows(plan, "cautions")),
        coverage=coverage_lines(plan),
        warnings=tuple(
            (words.clean(row["where"]), words.clean(row["text"])) for row in rows(plan, "warnings")
        ),
        beside=(("Buying summary", "buying.html"),)
        + ((("Hook-up", "hookup.html"),) if "meets" in table(plan, "hookup") else ()),
        needs=_needs(plan),
        ranking=_ranking(plan, needs, ids),
        combinations=combinations,
        combinations_more=more,
        route=_route(plan),
        stops=tuple(
            stop_part(
                plan,
                stop,
                label=place_of(plan, stop["id"]),
                sheet=sheets[stop["id"]],
                stations=places.index,
                usable=[(low, high) for low, high, _ in merged(usable[stop["id"]], ())],
            )
            for stop in stops
        ),
        map=places.part,
    )
