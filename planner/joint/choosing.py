"""Choose the ranges of all needs together: every combination that could still win is tried."""

from __future__ import annotations

import dataclasses
import itertools
import math
from typing import TYPE_CHECKING

from planner.joint.records import Combination, JointChoice, Merit, Question
from planner.joint.stops import Stops
from planner.workers import side_by_side

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.coordination import Effort
    from planner.ranking import RankedRange
    from planner.records import Need

_LIGHTER: dict[str, Effort] = {"quick": "glance", "normal": "quick", "long": "normal"}
"""The search that judges combinations is lighter than that of the route, which has the last word
on the winner."""
LEADING, MOST = 4, 4000
"""Where there are more combinations than ``MOST``, sets of several ranges are made of fewer leading
ranges, though of ``LEADING`` at least."""
KEPT = 3
"""Combinations that are followed to the end, the winner among them."""


def options(
    need: Need, ranked: Sequence[RankedRange], *, together: bool = False, leading: int | None = None
) -> tuple[tuple[str, ...], ...]:
    """Return the sets of ranges that a need may use: single ones, then more where one fails.

    Parameters
    ----------
    need : Need
        ``ranges_max`` bounds the size of a set.
    ranked : sequence of RankedRange
        Its ranges in order; a set holds them in that order.
    together : bool
        Also where one range alone would do: it may fail beside the other needs.
    leading : int or None
        Sets of several are made of so many leading ranges only.
    """
    keys = [row.range_key for row in ranked]
    found: list[tuple[str, ...]] = [(key,) for key in keys]
    if together or not any(row.stops_met == row.stops for row in ranked):
        for size in range(2, min(need.ranges_max, len(keys)) + 1):
            found += itertools.combinations(keys[:leading], size)
    return tuple(found)


def _sets(question: Question, *, together: bool) -> tuple[tuple[tuple[str, ...], ...], ...]:
    """Return the options of every need, of so few leading ranges that all can be looked at."""
    leading = max((len(rows) for rows in question.ranking.values()), default=0)
    while True:
        found = tuple(
            (question.kept[need.name],)
            if need.name in question.kept
            else options(need, question.ranking[need.name], together=together, leading=leading)
            for need in question.needs
        )
        if leading <= LEADING or math.prod(len(row) for row in found) <= MOST:
            return found
        leading -= 1


def choose(question: Question, *, effort: Effort = "normal", prune: bool = True) -> JointChoice:
    """Rank combinations by stops met, external noise, worst headroom, retunes.

    Confirmed stops count before stops on hold; what is missing at the worst stop counts before
    noise; after retunes come gear that is owned, then the
    order of the ranges alone.

    Parameters
    ----------
    question : Question
        Needs, stops, bounds, and how a stop's task is made.
    effort : str
        Of the plan; each stop's coordination is a lighter one here.
    prune : bool
        False follows every combination to the end (for tests and curious users).

    Notes
    -----
    For each combination a merit that it cannot exceed is known before anything is searched: at
    every stop the proven bound of each need alone, and of needs that share one range together.
    Combinations are looked at from the greatest such merit on, each at its tightest stop first,
    and left as soon as what was found with the bounds of the other stops is less than the
    ``KEPT``-th best so far. So none that could be among the first is dropped. Several ranges a need
    are tried where one fails, alone or beside the other needs.
    """
    return _choose(question, Stops(question, _LIGHTER[effort]), prune=prune)


def _choose(question: Question, stops: Stops, *, prune: bool = True) -> JointChoice:
    """Choose; ``stops`` may know answers of the same question with other ranges kept."""
    sets = _sets(question, together=False)
    followed = _follow(question, sets, stops, prune=prune)
    if not any(merit[1] == len(question.stops) for merit, _ in followed.kept[:1]):
        more = _sets(question, together=True)
        if more != sets:
            followed = _follow(question, more, stops, prune=prune)
    return _ranked(question, followed, stops, prune=prune)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Followed:
    """What was found of every combination.

    Attributes
    ----------
    every : list of mapping of str to tuple of str
        All combinations.
    kept : list of (Merit, int)
        Those followed to the end, best first, with their place in ``every``.
    done : mapping of int to mapping
        Headrooms of those kept, by stop and need.
    tried : int
        Combinations coordinated at one stop at least.
    """

    every: list[dict[str, tuple[str, ...]]]
    kept: list[tuple[Merit, int]]
    done: dict[int, dict[int, dict[str, int]]]
    tried: int


def _follow(
    question: Question,
    sets: Sequence[Sequence[tuple[str, ...]]],
    stops: Stops,
    *,
    prune: bool,
) -> _Followed:
    """Follow all combinations of the needs' sets of ranges, the most promising first."""
    names = [need.name for need in question.needs]
    every = [dict(zip(names, ranges, strict=True)) for ranges in itertools.product(*sets) if names]
    order = sorted(
        range(len(every)),
        key=lambda k: (*_reverse(stops.merit(every[k], stops.limits(every[k]), {})), k),
    )
    kept: list[tuple[Merit, int]] = []
    done: dict[int, dict[int, dict[str, int]]] = {}
    tried = 0
    for k in order:
        threshold = sorted((merit for merit, _ in kept), reverse=True)[KEPT - 1 : KEPT]
        found = stops.follow(every[k], threshold[0] if threshold and prune else None)
        tried += bool(found)
        if len(found) == len(question.stops):
            done[k] = found
            kept.append((stops.merit(every[k], {}, found), k))
    kept.sort(key=lambda item: (_reverse(item[0]), item[1]))
    return _Followed(every=every, kept=kept, done=done, tried=tried)


def _ranked(question: Question, followed: _Followed, stops: Stops, *, prune: bool) -> JointChoice:
    """Return the best of the combinations that were followed to the end, in order."""
    every, kept = followed.every, followed.kept
    least = kept[KEPT - 1][0] if len(kept) >= KEPT else None
    last = [item for item in kept if not prune or least is None or item[0] >= least]
    sole = bool(
        last and question.told_later and len({merit for merit, _ in last[:2]}) == len(last[:2])
    )
    asked = [k for _, k in last[sole:]]
    told = [(0, 0)] * sole + side_by_side(lambda k: question.retunes(every[k]), asked)
    rows = [(merit, *counts, k) for (merit, k), counts in zip(last, told, strict=True)]
    rows.sort(key=lambda row: (_reverse(row[0]), row[1], -_owned(question, every[row[3]]), row[3]))
    combinations = tuple(
        stops.record(every[k], followed.done[k], rank=rank + 1, retunes=(retunes, bound))
        for rank, (_, retunes, bound, k) in enumerate(rows)
    )
    winner = stops.found(every[rows[0][3]]) if rows else {}
    return JointChoice(
        combinations=_explained(combinations),
        tried=followed.tried,
        possible=len(every),
        found=winner,
        confirmed=frozenset(stop.id for stop in question.stops if stop.status == "confirmed"),
    )


def choose_after(
    question: Question, earlier: Mapping[str, Sequence[str]], *, effort: Effort = "normal"
) -> JointChoice:
    """Choose as :func:`choose`, but keep the ranges of an earlier plan.

    Gear may have been bought and crews been told, so a better choice does not displace it: it is
    told beside it, and :attr:`JointChoice.better` says so.

    Parameters
    ----------
    question : Question
        What is chosen from.
    earlier : mapping of str to sequence of str
        Ranges of each need in the earlier plan; those that are not considered now are not kept.
    effort : str
        As for :func:`choose`.
    """
    stops = Stops(question, _LIGHTER[effort])
    joint = _choose(question, stops)
    kept = {
        need.name: tuple(earlier[need.name])
        for need in question.needs
        if earlier.get(need.name)
        and len(earlier[need.name]) <= need.ranges_max
        and set(earlier[need.name]) <= {row.range_key for row in question.ranking[need.name]}
    }
    best = joint.combinations[0] if joint.combinations else None
    if best is None or all(best.ranges[name] == keys for name, keys in kept.items()):
        return joint
    held = _choose(dataclasses.replace(question, kept=kept), stops)
    first = held.combinations[0]
    if question.told_later:
        retunes, bound = question.retunes(best.ranges)
        best = dataclasses.replace(best, retunes=retunes, retunes_bound=bound)
    others = (best, *joint.combinations[1:])
    rows = (first, *(row for row in others if row.ranges != first.ranges))
    ranked = tuple(dataclasses.replace(row, rank=k) for k, row in enumerate(rows, start=1))
    return dataclasses.replace(
        joint,
        combinations=_explained(ranked),
        found=held.found,
        better=ranked[1] if ranked[1].merit > first.merit else None,
    )


def as_planned(
    joint: JointChoice, missing: Mapping[str, Mapping[str, int]], *, retunes: tuple[int, int]
) -> JointChoice:
    """Return the choice with the winner told as its route turned out.

    Parameters
    ----------
    joint : JointChoice
        The combinations.
    missing : mapping of str to mapping of str to int
        By stop: carriers missing after the longer search of the route, by need.
    retunes : (int, int)
        Lines retuned, and their bound.
    """
    if not joint.combinations:
        return joint
    first = joint.combinations[0]
    heads = {
        stop: {
            need: -missing[stop][need] if need in missing.get(stop, {}) else max(0, head)
            for need, head in here.items()
        }
        for stop, here in first.headrooms.items()
    }
    met = [stop for stop, here in heads.items() if all(head >= 0 for head in here.values())]
    was_met = [
        stop for stop, here in first.headrooms.items() if all(head >= 0 for head in here.values())
    ]
    gained = set(met) - set(was_met)
    changed = dataclasses.replace(
        first,
        headrooms=heads,
        confirmed_met=first.confirmed_met
        + sum(stop in joint.confirmed for stop in gained)
        - sum(stop in joint.confirmed for stop in set(was_met) - set(met)),
        stops_met=len(met),
        worst_stop=min(heads, key=lambda stop: min(heads[stop].values(), default=0)),
        worst_headroom={
            need: min(here[need] for here in heads.values() if need in here)
            for need in first.worst_headroom
        },
        retunes=retunes[0],
        retunes_bound=retunes[1],
    )
    return dataclasses.replace(joint, combinations=_explained((changed, *joint.combinations[1:])))


def _owned(question: Question, ranges: Mapping[str, tuple[str, ...]]) -> int:
    """Return how many of the pieces that are there already serve."""
    owned = dict(question.owned)
    used = 0
    for need in question.needs:
        left = need.count
        for key in ranges[need.name]:
            taken = min(left, owned.get(key, 0))
            owned[key] = owned.get(key, 0) - taken
            left -= taken
            used += taken
    return used


def _reverse(merit: Merit) -> Merit:
    confirmed, met, missing, noise, head = merit
    return -confirmed, -met, -missing, -noise, -head


def _explained(combinations: Sequence[Combination]) -> tuple[Combination, ...]:
    """Return the combinations with a sentence each: what decides against the one above."""
    found = []
    for place, row in enumerate(combinations):
        head = min(row.worst_headroom.values(), default=0)
        text = f"meets {row.stops_met} of {row.stops} stops with all needs together"
        if row.stops_met == row.stops:
            text += f"; tightest at {row.worst_stop}, {head} to spare"
        else:
            text += f"; worst at {row.worst_stop}, {-head} short"
        text += f"; {row.retunes} lines retuned"
        if place and row.merit > combinations[place - 1].merit:
            text += "; would come before the one above, which the earlier plan keeps in its place"
        elif place:
            text += f"; after the one above by {_decided_by(combinations[place - 1], row)}"
        found.append(dataclasses.replace(row, why=text))
    return tuple(found)


def _decided_by(above: Combination, row: Combination) -> str:
    if above.confirmed_met != row.confirmed_met or above.stops_met != row.stops_met:
        return "stops met"
    if above.merit[2] == row.merit[2] and above.noise_steps != row.noise_steps:
        return "external noise"
    if above.merit != row.merit:
        return "worst headroom"
    if above.retunes != row.retunes:
        return "retunes"
    return "gear owned, or the order of the ranges alone"
