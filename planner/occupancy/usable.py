"""What one range may use at a stop: law and air together, never one for the other."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from planner.occupancy.records import FAINT, HELD, QUIET, UNLISTED
from planner.rules import Use
from planner.spectrum import IntervalSet, Span, shrink, split_spans

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner.occupancy.records import Occupancy
    from planner.records import GearRange, Settings
    from planner.rules import CountryRules, LawSpan


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RangeWindows:
    """The windows of one range at one stop.

    Attributes
    ----------
    law : tuple of LawSpan
        The law over everything the range could touch, neighbours of one answer joined.
    clear_hz : tuple of (int, int)
        Spectrum edges [Hz] that every line may use: lawful and quiet, allowed unlisted spans,
        and faint ones with ``use_faint = "all"``.
    faint_hz : tuple of (int, int)
        Further windows that spares may use, with ``use_faint = "spares"``.
    unchecked_hz : tuple of (int, int)
        Those of ``clear_hz`` that no table covers: not checked.
    centres_hz, faint_centres_hz : tuple of (int, int)
        Closed spans of carrier centres [Hz] in them.
    """

    law: tuple[LawSpan, ...]
    clear_hz: tuple[Span, ...]
    faint_hz: tuple[Span, ...]
    unchecked_hz: tuple[Span, ...]
    centres_hz: tuple[Span, ...]
    faint_centres_hz: tuple[Span, ...]


def use_of(gear: GearRange) -> Use:
    """Return the use a catalogue row makes of spectrum, as the law sees it."""
    low, high = gear.searched_span_hz
    return Use(
        role=gear.role,
        form=gear.form,
        low_hz=low,
        high_hz=high,
        bandwidth_hz=gear.bandwidth_hz,
        wideband=gear.modulation == "wideband" or gear.links_per_block > 0,
        powers_mw=gear.powers_mw,
        power_kind=gear.power_kind,
        approved_in=gear.countries,
        modulation=gear.modulation,
    )


def compute_windows(
    gear: GearRange,
    occupancy: Occupancy,
    *,
    rules: CountryRules,
    settings: Settings,
    excluded: IntervalSet,
) -> RangeWindows:
    """Return the windows of a range at a stop.

    Parameters
    ----------
    gear : GearRange
        The range.
    occupancy : Occupancy
        The air at the stop, and the facts the law needs.
    rules, settings : CountryRules, Settings
        Law of the country; what of faint and unlisted may be used.
    excluded : IntervalSet
        Spans closed by the user at this stop.

    Notes
    -----
    Windows are split at TV channel edges and where the rule or its limit changes, so that a
    carrier lies in one channel under one rule.
    """
    law = _joined(rules.law_spans(use_of(gear), occupancy.facts))
    lawful = IntervalSet((s.low_hz, s.high_hz) for s in law if s.law == "lawful") - excluded
    edges = {edge for row in rules.raster for edge in (row.low_hz, row.high_hz)}
    edges |= {edge for row in law for edge in (row.low_hz, row.high_hz)}
    clear_words, faint_words = {QUIET}, set()
    if settings.use_faint == "all":
        clear_words.add(FAINT)
    elif settings.use_faint == "spares":
        faint_words.add(FAINT)
    clear = IntervalSet(
        (s.low_hz, s.high_hz)
        for s in occupancy.spans
        if s.air in clear_words
        or (s.air == UNLISTED and (settings.plan_unlisted or not s.table_possible))
    )
    faint = _air(occupancy, faint_words)
    parts = [
        tuple(
            span
            for span in split_spans((lawful & air).spans, edges)
            if span[1] - span[0] >= gear.bandwidth_hz
        )
        for air in (clear, faint)
    ]
    unlisted = _air(occupancy, {UNLISTED})
    return RangeWindows(
        law=law,
        clear_hz=parts[0],
        faint_hz=parts[1],
        unchecked_hz=(IntervalSet(parts[0]) & unlisted).spans,
        centres_hz=_centres(parts[0], gear),
        faint_centres_hz=_centres(parts[1], gear),
    )


def account(
    gear: GearRange,
    occupancy: Occupancy,
    windows: RangeWindows,
    excluded: IntervalSet,
) -> dict[str, int]:
    """Return where the spectrum of a range goes at a stop, in parts that add up [Hz].

    Parameters
    ----------
    gear, occupancy, windows, excluded : GearRange, Occupancy, RangeWindows, IntervalSet
        The range, the air at the stop, what was found, what the user closed there.

    Returns
    -------
    dict of str to int
        Widths: ``usable``, ``not lawful``, ``excluded``, then of the lawful rest ``held``,
        ``unlisted``, ``faint`` (where lines may not use them), ``too narrow`` for a carrier.
    """
    left = IntervalSet([gear.searched_span_hz])
    barred = IntervalSet((s.low_hz, s.high_hz) for s in windows.law if s.law != "lawful")
    found = {}
    for word, spans in (
        ("usable", IntervalSet(windows.clear_hz)),
        ("not lawful", barred),
        ("excluded", excluded),
        ("held", _air(occupancy, {HELD})),
        ("unlisted", _air(occupancy, {UNLISTED})),
        ("faint", _air(occupancy, {FAINT})),
    ):
        found[word] = (left & spans).width_hz
        left = left - spans
    found["too narrow"] = left.width_hz
    return found


def _air(occupancy: Occupancy, words: set[str]) -> IntervalSet:
    return IntervalSet((s.low_hz, s.high_hz) for s in occupancy.spans if s.air in words)


def _centres(spans: Sequence[Span], gear: GearRange) -> tuple[Span, ...]:
    found = []
    for low, high in shrink(spans, bandwidth_hz=gear.bandwidth_hz):
        limits: Iterable[Span] = (
            shrink(gear.centre_spans_hz, bandwidth_hz=gear.bandwidth_hz)
            if gear.links_per_block
            else gear.centre_spans_hz
        )
        for piece_low, piece_high in limits:
            left, right = max(low, piece_low), min(high, piece_high)
            if left <= right:
                found.append((left, right))
    return tuple(found)


def _joined(spans: Sequence[LawSpan]) -> tuple[LawSpan, ...]:
    """Join neighbours that give the same answer for the same reason."""
    found: list[LawSpan] = []
    for span in spans:
        last = found[-1] if found else None
        if (
            last is not None
            and last.high_hz == span.low_hz
            and dataclasses.replace(last, low_hz=span.low_hz, high_hz=span.high_hz) == span
        ):
            found[-1] = dataclasses.replace(last, high_hz=span.high_hz)
        else:
            found.append(span)
    return tuple(found)
