"""Rules as data: one class for every country whose permissions are rows of a table.

The rows stand in ``planner/tables/world_permissions.csv`` or in a user's rules file. Whatever no
text confirms is never silently lawful: see :mod:`planner.rules.world_limits` and
:mod:`planner.rules.world_judging`.
"""

from __future__ import annotations

import dataclasses
import itertools
from typing import TYPE_CHECKING

import numpy as np

from planner.rules.records import LAWFUL, ContourLevels, Relief, ServiceSpan
from planner.rules.television import LEVEL_TEXT, held_level_dbuv_m
from planner.rules.us import UnitedStatesRules
from planner.rules.world_judging import (
    ASK,
    LICENCE_NAMES_THEM,
    Case,
    best_span,
    span_text,
)
from planner.rules.world_limits import region_wide
from planner.rules.world_tables import countries, own_rows, region_rows, world_raster

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy.typing as npt

    from planner.records import Cleared, Licence, Permission
    from planner.rules.records import ChannelNote, LawSpan, StopFacts, TvChannel, Use

ON_FCC_CURVES = frozenset({"CA", "MX"})
"""Countries beside the United States whose agreements stand on the FCC's curves."""
NORTH_AMERICAN_MARGIN_KM = 4.0
"""Kept outside contours [km]; the United States' figure, that of Canada was not seen."""
_BAND_III_HZ = (174_000_000, 240_000_000)
"""Used by digital radio and little television outside the Americas: its users can be listed."""


class WorldRules:
    """The rules of one country, from rows.

    Parameters
    ----------
    code : str
        ISO 3166 code.
    rows : tuple of Permission
        A user's own rows; empty takes the shipped ones.
    """

    def __init__(self, code: str, rows: tuple[Permission, ...] = ()) -> None:
        known = countries().get(code)
        self.code = code
        self.name = known.name if known else code
        self.own_file = bool(rows)
        self.rows = rows or own_rows(code)
        self.licence_kinds = tuple(sorted({row.licence for row in self.rows} - {""}))
        self.margin_km = NORTH_AMERICAN_MARGIN_KM if code in ON_FCC_CURVES else 0.0
        self.contour_name = (
            "protected contour" if code in ON_FCC_CURVES else "predicted area of reception"
        )
        self.raster: tuple[TvChannel, ...] = world_raster(code)
        self.carrier_raster_hz = next((row.raster_hz for row in self.rows if row.raster_hz), (0, 1))
        self.services = _services(self.raster, self.rows)

    def contour_levels(
        self, frequency_hz: npt.NDArray[np.int64], system: npt.NDArray[np.str_]
    ) -> ContourLevels:
        """Return FCC levels in North America, elsewhere the planning level for both.

        Parameters
        ----------
        frequency_hz : (n,) int64
            Centre of the station's channel [Hz].
        system : (n,) str
            Word of the station table.
        """
        if self.code in ON_FCC_CURVES:
            return UnitedStatesRules().contour_levels(frequency_hz, system)
        level = held_level_dbuv_m(frequency_hz)
        return ContourLevels(
            curve=np.full(len(level), "P.1546-6"), law_dbuv_m=level, cautious_dbuv_m=level
        )

    def channel_notes(
        self, lat_deg: float, lon_deg: float, *, within_km: float = 0.0
    ) -> tuple[ChannelNote, ...]:
        """Return nothing: no row of these rules binds single channels of a place."""
        del lat_deg, lon_deg, within_km
        return ()

    def law_spans(self, use: Use, facts: StopFacts) -> tuple[LawSpan, ...]:
        """Return the best permission for a use, span by span, cut where a row or channel ends."""
        edges = {use.low_hz, use.high_hz}
        for rows in (self.rows, self.raster, facts.cleared, region_rows(self.code)):
            edges |= {e for e in _edges(rows) if use.low_hz < e < use.high_hz}
        return tuple(
            self._judged(use, facts, low_hz, high_hz)
            for low_hz, high_hz in itertools.pairwise(sorted(edges))
        )

    def _judged(self, use: Use, facts: StopFacts, low_hz: int, high_hz: int) -> LawSpan:
        """Return the law of one elementary span, and what a cleared span does to it."""
        rows = [row for row in self.rows if row.low_hz <= low_hz and high_hz <= row.high_hz]
        cleared = [row for row in facts.cleared if row.low_hz <= low_hz and high_hz <= row.high_hz]
        case = Case(
            use=use,
            facts=facts,
            low_hz=low_hz,
            high_hz=high_hz,
            channel=next(
                (ch for ch in self.raster if ch.low_hz <= low_hz and high_hz <= ch.high_hz), None
            ),
            vacant_only=self.code in ON_FCC_CURVES,
        )
        otherwise = f"rules of {self.name}"
        without = best_span(rows, case, otherwise=otherwise)
        if not cleared or without.law == LAWFUL:
            return without
        span = best_span(rows, dataclasses.replace(case, reliefs=cleared), otherwise=otherwise)
        ground = "; ".join(dict.fromkeys(f"{row.ground}: {row.text}" for row in cleared))
        if span.law == without.law:
            return dataclasses.replace(span, cleared=ground)
        return dataclasses.replace(
            span, cleared=f"{without.law} before; {ground}", law_before=without.law
        )

    def relief(
        self, cleared: Cleared, licences: Sequence[Licence], *, indoor: bool
    ) -> tuple[Relief, ...]:
        """Return what a cleared span lifts: a licence names its frequencies, nothing else.

        No rule seen outside the United States says what a measurement or an agreement opens.
        """
        del indoor
        named = cleared.basis == "licence" and bool(licences)
        text = (
            "the licence names its frequencies"
            if named
            else f"the rules of {self.name} seen name no relief by this"
        )
        return (
            Relief(
                low_hz=cleared.low_hz,
                high_hz=cleared.high_hz,
                lifts=(LICENCE_NAMES_THEM,) if named else (),
                ground=cleared.stated,
                text=text,
            ),
        )

    def asks(self, licences: Sequence[Licence], *, indoor: bool) -> tuple[str, ...]:
        """Return what the rules seen ask of the user, and how far they are confirmed."""
        del indoor
        held = {licence.kind for licence in licences}
        mine = [
            row
            for row in self.rows
            if row.country == self.code and not row.closes and row.licence in {"", *held}
        ]
        first = (
            f"{self.name}: use is secondary, accepts interference and causes none; where a "
            f"permission or a limit is marked not confirmed, {ASK} before use."
        )
        if self.code not in ON_FCC_CURVES:
            first += f" {LEVEL_TEXT}"
        if self.own_file:
            first += " The rules are those of your own file, not of this version."
        lines = [first]
        lines += _grouped(mine, lambda row: f"for {row.eligible} only." if row.eligible else "")
        lines += _grouped(
            mine, lambda row: f"antenna: {row.antenna_limit}." if row.antenna_limit else ""
        )
        lines += _grouped(mine, _validity)
        doubtful = [row for row in mine if _doubtful(row)]
        lines += _grouped(doubtful, lambda row: f"permission not confirmed: {row.source}.")
        return tuple(lines)


def _edges(rows: Sequence[Permission] | Sequence[TvChannel] | Sequence[Relief]) -> set[int]:
    return {edge for row in rows for edge in (row.low_hz, row.high_hz)}


def _doubtful(row: Permission) -> bool:
    return not row.permission_confirmed and region_wide(row) is None


def _validity(row: Permission) -> str:
    """Say until when a row's text runs, empty where it names no end."""
    if row.valid_to is None:
        return ""
    if row.successor_unseen:
        return f"the order seen runs to {row.valid_to}; what follows was not seen."
    return f"closes after {row.valid_to}."


def _grouped(rows: Sequence[Permission], words: Callable[[Permission], str]) -> list[str]:
    """Return one line for each text, with all the spans it holds for."""
    found: dict[str, list[str]] = {}
    for row in rows:
        text = words(row)
        if text:
            found.setdefault(text, []).append(span_text(row))
    return [f"{', '.join(dict.fromkeys(spans))}: {text}" for text, spans in found.items()]


def _services(raster: Sequence[TvChannel], rows: Sequence[Permission]) -> tuple[ServiceSpan, ...]:
    """Return television over the raster, and spans of the rules that no station table can list."""
    found = [
        ServiceSpan(
            low_hz=channel.low_hz,
            high_hz=channel.high_hz,
            air="table",
            service="television",
            section="television raster",
        )
        for channel in raster
    ]
    edges = _edges(raster) | _edges(rows)
    for low_hz, high_hz in itertools.pairwise(sorted(edges)):
        covered = any(ch.low_hz < high_hz and low_hz < ch.high_hz for ch in raster)
        band_iii = low_hz < _BAND_III_HZ[1] and _BAND_III_HZ[0] < high_hz
        permitted = any(
            not row.closes and row.low_hz <= low_hz and high_hz <= row.high_hz for row in rows
        )
        if permitted and not covered and not band_iii:
            found.append(
                ServiceSpan(
                    low_hz=low_hz,
                    high_hz=high_hz,
                    air="no-table",
                    service="other users of a shared band",
                    section="no broadcasting raster",
                )
            )
    return tuple(sorted(found, key=lambda row: row.low_hz))
