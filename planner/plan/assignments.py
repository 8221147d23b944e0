"""Frequencies that a licence or a coordinator gave to a need: which can be used, which go back."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from planner.occupancy.records import AIR_ORDER, QUIET
from planner.rules import lawful_power_mw
from planner.rules.records import BARRED, LAW_ORDER
from planner.units import format_mhz, hz_to_mhz, shortest_mhz

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from planner.occupancy import Occupancy, RangeWindows
    from planner.plan.scope import ClosedSpan
    from planner.records import Assigned, GearRange
    from planner.rules import CountryRules, LawSpan

_LEFT = "can be used, but is not needed or does not fit beside the other carriers"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AssignedPoint:
    """One frequency of an assignment, judged for one range.

    Attributes
    ----------
    frequency_hz : int
        Carrier centre [Hz].
    row : Assigned
        The assignment that gives it.
    refusal : str
        Why it cannot be used; empty where it can.
    caution : str
        Why it should be looked at first; empty where the air is quiet.
    air : str
        Worst verdict on the air that its bandwidth touches; empty outside the searched span.
    law : LawSpan or None
        The law where it stands; ``"on-request"`` is what the assignment answers.
    power_mw : float or None
        Highest setting within the assignment and the law [mW]; None where refused.
    """

    frequency_hz: int
    row: Assigned
    refusal: str = ""
    caution: str = ""
    air: str = ""
    law: LawSpan | None = None
    power_mw: float | None = None

    @property
    def reply(self) -> str:
        """The sentence to send back to whoever assigned it; empty where it can be used."""
        if not self.refusal:
            return ""
        reference = f" ({self.row.reference})" if self.row.reference else ""
        return (
            f"{self.row.stop}, {self.row.need}: {format_mhz(self.frequency_hz)} MHz{reference} "
            f"cannot be used: {self.refusal}; please assign another."
        )


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AssignedPoints:
    """Every frequency that is assigned to a need at a stop, ascending."""

    points: tuple[AssignedPoint, ...]

    @property
    def usable_hz(self) -> tuple[int, ...]:
        """The carrier centres that can be used now [Hz]."""
        return tuple(point.frequency_hz for point in self.points if not point.refusal)

    @property
    def refusals(self) -> tuple[tuple[int, str], ...]:
        """Those that cannot, each with the reason."""
        return tuple((point.frequency_hz, point.refusal) for point in self.points if point.refusal)

    def at(self, frequency_hz: int) -> AssignedPoint | None:
        """Return the point of a carrier centre [Hz]."""
        return next((row for row in self.points if row.frequency_hz == frequency_hz), None)


def assigned_points(
    rows: Sequence[Assigned],
    gear: GearRange,
    *,
    windows: RangeWindows,
    occupancy: Occupancy,
    rules: CountryRules,
    closed: Sequence[ClosedSpan],
) -> AssignedPoints:
    """Judge the frequencies that are assigned to a need at a stop for one range.

    Parameters
    ----------
    rows : sequence of Assigned
        The assignments of one need at one stop (``scope.assigned_at``).
    gear, windows : GearRange, RangeWindows
        The range, and the law over all it can touch there.
    occupancy : Occupancy
        The air at the stop.
    rules : CountryRules
        TV raster and raster of carriers.
    closed : sequence of ClosedSpan
        What the user or others close there (``scope.closed_at``).

    Notes
    -----
    A point is refused off the range's limits or grid, off the law's raster, across the edge of a
    TV channel or of two rules, where the law bars it, where the spectrum is closed, and where
    no power setting is within what is assigned. ``on-request`` is answered by the assignment.
    Air that is not quiet is only a caution.
    """
    points = []
    for row in rows:
        for frequency_hz in row.frequencies_hz:
            law_spans = _law_at(windows.law, frequency_hz, gear)
            law = law_spans[0] if law_spans else None
            power_mw = _power(row, gear, law)
            refusal = (
                _off_the_range(frequency_hz, gear)
                or _against_the_law(frequency_hz, gear, rules, law_spans)
                or _closed(frequency_hz, gear, closed)
            )
            if not refusal and power_mw is None:
                refusal = _too_strong(row, gear, law)
            air = _air_at(occupancy, frequency_hz, gear)
            look = f"air {air or 'not searched'}: look before use" if air != QUIET else ""
            points.append(
                AssignedPoint(
                    frequency_hz=frequency_hz,
                    row=row,
                    refusal=refusal,
                    caution="" if refusal else look,
                    air=air,
                    law=law,
                    power_mw=None if refusal else power_mw,
                )
            )
    return AssignedPoints(points=tuple(sorted(points, key=lambda point: point.frequency_hz)))


def _edges(frequency_hz: int, gear: GearRange) -> tuple[int, int]:
    half_hz = (gear.bandwidth_hz + 1) // 2
    return frequency_hz - half_hz, frequency_hz + half_hz


def _off_the_range(frequency_hz: int, gear: GearRange) -> str:
    spans = gear.centre_spans_hz
    if not any(low <= frequency_hz <= high for low, high in spans):
        limits = "; ".join(f"{shortest_mhz(low)}-{shortest_mhz(high)}" for low, high in spans)
        return f"outside {limits} MHz, the limits of {gear.key}"
    if (frequency_hz - gear.tuning_origin_hz) % gear.step_hz:
        return (
            f"off the grid of {gear.key}, steps of {gear.step_hz / 1000:g} kHz from "
            f"{shortest_mhz(gear.tuning_origin_hz)} MHz"
        )
    return ""


def _law_at(law: Sequence[LawSpan], frequency_hz: int, gear: GearRange) -> tuple[LawSpan, ...]:
    """Return the law that the bandwidth touches, the worst first."""
    low, high = _edges(frequency_hz, gear)
    touched = [span for span in law if span.low_hz < high and low < span.high_hz]
    return tuple(sorted(touched, key=lambda span: LAW_ORDER.index(span.law)))


def _against_the_law(
    frequency_hz: int, gear: GearRange, rules: CountryRules, law: Sequence[LawSpan]
) -> str:
    if not law:
        return "no rule opens it"
    if law[0].law == BARRED:
        return f"barred by {law[0].rule}: {law[0].text}"
    origin_hz, step_hz = rules.carrier_raster_hz
    if (frequency_hz - origin_hz) % step_hz:
        return f"off the law's raster of {step_hz / 1000:g} kHz"
    low, high = _edges(frequency_hz, gear)
    for channel in rules.raster:
        for edge in (channel.low_hz, channel.high_hz):
            if low < edge < high:
                return f"its bandwidth crosses the channel edge at {shortest_mhz(edge)} MHz"
    if len({(span.rule, span.limit_mw, span.limit_kind) for span in law}) > 1:
        edge = max(span.low_hz for span in law)
        return f"its bandwidth crosses {shortest_mhz(edge)} MHz, where another rule begins"
    return ""


def _closed(frequency_hz: int, gear: GearRange, closed: Sequence[ClosedSpan]) -> str:
    low, high = _edges(frequency_hz, gear)
    texts = [row.text for row in closed if row.low_hz < high and low < row.high_hz]
    return "; ".join(dict.fromkeys(texts))


def _power(row: Assigned, gear: GearRange, law: LawSpan | None) -> float | None:
    """Return the highest setting within the assigned power and the law's limit [mW]."""
    if law is None or law.limit_mw is None:
        return None
    limit_mw = law.limit_mw if row.power_mw is None else min(row.power_mw, law.limit_mw)
    return lawful_power_mw(
        gear.powers_mw, gear.power_kind, limit_mw=limit_mw, limit_kind=law.limit_kind
    )


def _too_strong(row: Assigned, gear: GearRange, law: LawSpan | None) -> str:
    kind = law.limit_kind if law else ""
    return (
        f"the lowest setting of {gear.key}, {min(gear.powers_mw):g} mW {gear.power_kind}, exceeds "
        f"the {row.power_mw:g} mW {kind} assigned"
    )


def _air_at(occupancy: Occupancy, frequency_hz: int, gear: GearRange) -> str:
    low, high = _edges(frequency_hz, gear)
    words = [span.air for span in occupancy.spans if span.low_hz < high and low < span.high_hz]
    return min(words, key=AIR_ORDER.index, default="")


def assignment_rows(
    judged: Sequence[AssignedPoints], used_by: Mapping[int, str]
) -> list[dict[str, Any]]:
    """Return the assigned frequencies of one need at one stop as the plan document holds them.

    Parameters
    ----------
    judged : sequence of AssignedPoints
        The same assignments judged for each range that the need is planned with.
    used_by : mapping of int to str
        Carrier centre [Hz] to the name of the line or spare that uses it.
    """
    rows = []
    for same in _by_frequency(judged):
        first = same[0]
        name = used_by.get(first.frequency_hz)
        refused = all(point.refusal for point in same)
        why = "; ".join(dict.fromkeys(point.refusal for point in same)) if refused else _LEFT
        rows.append(
            {
                "need": first.row.need,
                "reference": first.row.reference or None,
                "power_mw": first.row.power_mw,
                "frequency_mhz": hz_to_mhz(first.frequency_hz),
                "used_by": name,
                "why": None if name is not None else why,
            }
        )
    return rows


def assignment_warnings(
    judged: Sequence[AssignedPoints], used_by: Mapping[int, str]
) -> Iterator[tuple[str, str, str]]:
    """Yield code, stop and text for what goes back and for what is used in air that is not quiet.

    Parameters
    ----------
    judged, used_by : sequence of AssignedPoints, mapping of int to str
        As in :func:`assignment_rows`.
    """
    for same in _by_frequency(judged):
        first = same[0]
        name = used_by.get(first.frequency_hz)
        if name is not None:
            if first.caution:
                text = f"{name} on assigned {format_mhz(first.frequency_hz)} MHz: {first.caution}"
                yield "assigned-not-quiet", first.row.stop, text
        elif all(point.refusal for point in same):
            for reply in dict.fromkeys(point.reply for point in same):
                yield "assigned-refused", first.row.stop, reply


def _by_frequency(judged: Sequence[AssignedPoints]) -> list[list[AssignedPoint]]:
    """Return the points of one frequency together, those that can be used first."""
    found: dict[int, list[AssignedPoint]] = {}
    for points in judged:
        for point in points.points:
            found.setdefault(point.frequency_hz, []).append(point)
    return [
        sorted(found[frequency_hz], key=lambda point: bool(point.refusal))
        for frequency_hz in sorted(found)
    ]
