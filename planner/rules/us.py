"""United States: 47 CFR 15.236 (licence-exempt) and 74.801 ff. (kind ``part-74``).

Figures stand in ``planner/tables/us_*.csv`` with their sources. Where a figure is not
confirmed the stricter one is used and the row says so.
"""

from __future__ import annotations

import dataclasses
import itertools
from typing import TYPE_CHECKING

import numpy as np

from planner.rules.records import (
    BARRED,
    LAW_ORDER,
    LAWFUL,
    ON_REQUEST,
    ChannelNote,
    ContourLevels,
    LawSpan,
    Relief,
    ServiceSpan,
    StopFacts,
    TvChannel,
    Use,
    lawful_power_mw,
)
from planner.rules.us_places import closed_spans, place_notes
from planner.rules.us_relief import CONTOUR, lifted, releases, reliefs_of
from planner.rules.us_tables import permissions, raster, services
from planner.tables import read_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.records import Cleared, Licence
    from planner.rules.us_tables import Permission

_VHF_LOW_TOP_HZ = 88_000_000
_VHF_HIGH_TOP_HZ = 216_000_000
_CLOSED = "closed"
_INDOOR_RELIEF = (
    ", or - indoors, where TV is not watched off air - a measured TV signal below -84 dBm over "
    "the whole channel (74.802(b)): a measurement on site, not a prediction."
)


class UnitedStatesRules:
    """The rules of the United States and its territories."""

    code = "US"
    name = "United States"
    licence_kinds = ("part-74",)
    margin_km = 4.0
    contour_name = "protected contour"
    carrier_raster_hz = (0, 25_000)
    """Multiples of 25 kHz from the band edge (15.236(f) from memory, 74.802(c) confirmed);
    every band and channel edge is itself a multiple of 25 kHz."""

    @property
    def raster(self) -> tuple[TvChannel, ...]:
        """TV channels 2 to 37; 37 is closed (47 CFR 73.603)."""
        return raster()

    @property
    def services(self) -> tuple[ServiceSpan, ...]:
        """Spans whose use does not depend on the stop."""
        return services()

    def contour_levels(
        self, frequency_hz: npt.NDArray[np.int64], system: npt.NDArray[np.str_]
    ) -> ContourLevels:
        """Return the levels of 47 CFR 74.802(b)(1), flat and with the dipole term at UHF.

        Parameters
        ----------
        frequency_hz : (n,) int64
            Centre of the station's channel [Hz].
        system : (n,) str
            Word of the station table; ``"analogue"`` selects the analogue row.
        """
        table = read_table("us_contour_levels")
        band = np.where(
            frequency_hz <= _VHF_LOW_TOP_HZ,
            "vhf-low",
            np.where(frequency_hz <= _VHF_HIGH_TOP_HZ, "vhf-high", "uhf"),
        )
        kind = np.where(system == "analogue", "analogue", "digital")
        curve = np.empty(band.shape, dtype="U8")
        law = np.empty(band.shape)
        cautious = np.empty(band.shape)
        for row in zip(*table.values(), strict=True):
            row_band, row_kind, level, row_curve, reference_mhz = row[:5]
            mask = (band == row_band) & (kind == row_kind)
            curve[mask] = row_curve
            law[mask] = float(level)
            dipole_db = (
                20 * np.log10(frequency_hz[mask] / (float(reference_mhz) * 1e6))
                if reference_mhz
                else 0.0
            )
            cautious[mask] = float(level) + np.minimum(dipole_db, 0.0)
        return ContourLevels(curve=curve, law_dbuv_m=law, cautious_dbuv_m=cautious)

    def channel_notes(
        self, lat_deg: float, lon_deg: float, *, within_km: float = 0.0
    ) -> tuple[ChannelNote, ...]:
        """Return land mobile areas, Hawaii's channel 17 and the Gulf offshore lines.

        Land mobile holds a channel within 129 km of the area's centre (90.303, 22.657) and is
        a caution up to 134 km (15.712(d), from memory).
        """
        return place_notes(lat_deg, lon_deg, within_km=within_km)

    def law_spans(self, use: Use, facts: StopFacts) -> tuple[LawSpan, ...]:
        """Return the best permission for a use, span by span, cut at every TV channel edge."""
        edges = {use.low_hz, use.high_hz}
        for low, high in (
            *((row.low_hz, row.high_hz) for row in permissions()),
            *((row.low_hz, row.high_hz) for row in services()),
            *((row.low_hz, row.high_hz) for row in raster()),
            *((row.low_hz, row.high_hz) for row in facts.cleared),
        ):
            edges.update(edge for edge in (low, high) if use.low_hz < edge < use.high_hz)
        notes = {
            note.label: note
            for note in self.channel_notes(
                facts.lat_deg, facts.lon_deg, within_km=facts.location_error_km
            )
            if note.kind in ("held", "closed")
        }
        closed = closed_spans(facts.lat_deg, facts.lon_deg, within_km=facts.location_error_km)
        cuts = sorted(edges)
        spans = [
            _with_relief(use, facts, notes, low_hz=low, high_hz=high)
            for low, high in itertools.pairwise(cuts)
        ]
        return tuple(
            next(
                (
                    _barred(span.low_hz, span.high_hz, "47 CFR 74.802(a)", text)
                    for low, high, text in closed
                    if low < span.high_hz and span.low_hz < high
                ),
                span,
            )
            for span in spans
        )

    def relief(
        self, cleared: Cleared, licences: Sequence[Licence], *, indoor: bool
    ) -> tuple[Relief, ...]:
        """Return what a cleared span lifts under 74.802(b) and 74.803; see us_relief."""
        return reliefs_of(cleared, licences, indoor=indoor, raster=raster())

    def asks(self, licences: Sequence[Licence], *, indoor: bool) -> tuple[str, ...]:
        """Return what 15.236 and, with a licence, 74.801 ff. ask of the user here."""
        lines = [
            (
                "Licence-exempt use accepts all interference and must cause none "
                "(47 CFR 15.236; general duty of Part 15)."
            ),
            (
                "Stay 4 km outside every co-channel TV contour; carriers on multiples of 25 kHz "
                "from the band edge, 200 kHz at most (15.236(e),(f), from memory; 74.802(b),(c))."
            ),
            (
                "614-616 and 657-663 MHz: a white-space database check may be required first "
                "(from memory)."
            ),
        ]
        if any(licence.kind == "part-74" for licence in licences):
            lines += [
                (
                    "Licensed use is secondary to TV and land mobile and stops at once on "
                    "interference (47 CFR 74.803); voice transmitters above 50 mW are identified "
                    "at the start and end of use (74.882, from memory)."
                ),
                "Inside a TV contour a licence holder needs the station's agreement beforehand"
                + (_INDOOR_RELIEF if indoor else " (74.802(b))."),
            ]
        return tuple(lines)


def _channel_at(low_hz: int, high_hz: int) -> TvChannel | None:
    return next((row for row in raster() if row.low_hz <= low_hz and high_hz <= row.high_hz), None)


def _with_relief(
    use: Use,
    facts: StopFacts,
    notes: dict[str, ChannelNote],
    *,
    low_hz: int,
    high_hz: int,
) -> LawSpan:
    """Return the best permission in one elementary span, and what a cleared span does to it.

    What is lawful without a cleared span is left as it is, so that it is not cut there.
    """
    span = _best(use, facts, notes, low_hz=low_hz, high_hz=high_hz)
    here = [row for row in facts.cleared if row.low_hz <= low_hz and high_hz <= row.high_hz]
    if not here:
        return span
    bare = dataclasses.replace(facts, cleared=())
    without = _best(use, bare, notes, low_hz=low_hz, high_hz=high_hz)
    before = without.law
    if before == LAWFUL:
        return without
    ground = "; ".join(dict.fromkeys(f"{row.ground}: {row.text}" for row in here))
    if span.law != before:
        return dataclasses.replace(span, cleared=f"{before} before; {ground}", law_before=before)
    if span.law == BARRED:
        ground += "; what is barred stays barred"
    return dataclasses.replace(span, cleared=ground)


def _best(
    use: Use,
    facts: StopFacts,
    notes: dict[str, ChannelNote],
    *,
    low_hz: int,
    high_hz: int,
) -> LawSpan:
    """Return the best permission in one elementary span."""
    if use.approved_in and facts.country not in use.approved_in and "US" not in use.approved_in:
        listed = ", ".join(use.approved_in)
        return _barred(low_hz, high_hz, "gear catalogue", f"gear approved for {listed} only")
    held = {licence.kind: licence for licence in facts.licences}
    reliefs = [row for row in facts.cleared if row.low_hz <= low_hz and high_hz <= row.high_hz]
    found: list[LawSpan] = []
    refusals: list[tuple[str, str]] = []
    unlicensed: list[tuple[str, str]] = []
    for row in permissions():
        if not (row.low_hz <= low_hz and high_hz <= row.high_hz) or row.wideband != use.wideband:
            continue
        if row.licence and row.licence not in held:
            unlicensed.append((row.section, f"needs a licence of kind {row.licence}"))
            continue
        law, why = _judge(
            use, facts, notes, row, channel=_channel_at(low_hz, high_hz), reliefs=reliefs
        )
        if law == BARRED:
            refusals.append((row.section, why))
            continue
        licence = held.get(row.licence)
        found.append(
            LawSpan(
                low_hz=low_hz,
                high_hz=high_hz,
                law=law,
                limit_mw=row.limit_mw,
                limit_kind=row.limit_kind,
                power_mw=lawful_power_mw(
                    use.powers_mw, use.power_kind, limit_mw=row.limit_mw, limit_kind=row.limit_kind
                ),
                rule=row.section,
                licence=row.licence,
                holder=licence.holder if licence else "",
                text="; ".join(part for part in (why, row.note) if part),
            )
        )
    if found:
        return max(found, key=lambda span: (LAW_ORDER.index(span.law), span.power_mw or 0.0))
    service = next(
        (row for row in services() if row.low_hz <= low_hz and high_hz <= row.high_hz), None
    )
    refusals = refusals or unlicensed
    if refusals:
        sections = "; ".join(dict.fromkeys(section for section, _ in refusals))
        return _barred(low_hz, high_hz, sections, "; ".join(dict.fromkeys(w for _, w in refusals)))
    if service is not None:
        return _barred(low_hz, high_hz, service.section, f"closed: {service.service}")
    return _barred(
        low_hz, high_hz, "47 CFR 15.236, 74.802", "no rule of this version opens this span"
    )


def _judge(
    use: Use,
    facts: StopFacts,
    notes: dict[str, ChannelNote],
    row: Permission,
    *,
    channel: TvChannel | None,
    reliefs: Sequence[Relief],
) -> tuple[str, str]:
    """Return law and reason of one permission row in one elementary span."""
    if use.bandwidth_hz > row.bandwidth_limit_hz:
        limit_khz = row.bandwidth_limit_hz / 1000
        return BARRED, f"bandwidth {use.bandwidth_hz / 1000:g} kHz exceeds {limit_khz:g} kHz"
    power = lawful_power_mw(
        use.powers_mw, use.power_kind, limit_mw=row.limit_mw, limit_kind=row.limit_kind
    )
    if power is None:
        return BARRED, (
            f"lowest setting {min(use.powers_mw):g} mW {use.power_kind} exceeds "
            f"{row.limit_mw:g} mW {row.limit_kind}"
        )
    reasons = _in_the_way(facts, notes, channel) if row.tv and channel is not None else {}
    text = "; ".join(reasons.values())
    left = [kind for kind in reasons if not lifted(kind, reliefs)]
    if _CLOSED in reasons or (reasons and not row.licence):
        return BARRED, text
    if left:
        return ON_REQUEST, f"{text}; {releases(left)}"
    if row.law == LAWFUL or lifted(row.asks, reliefs):
        return LAWFUL, text
    return ON_REQUEST, text


def _in_the_way(
    facts: StopFacts, notes: dict[str, ChannelNote], channel: TvChannel
) -> dict[str, str]:
    """Return what holds or closes a channel here, by kind; a closed one says only that."""
    note = notes.get(channel.label)
    if note is not None and note.kind == "closed":
        return {_CLOSED: note.text}
    protected = facts.protected.get(channel.label)
    found = {} if protected is None else {CONTOUR: protected}
    return found if note is None else {**found, note.code: note.text}


def _barred(low_hz: int, high_hz: int, rule: str, text: str) -> LawSpan:
    return LawSpan(
        low_hz=low_hz,
        high_hz=high_hz,
        law=BARRED,
        limit_mw=None,
        limit_kind="",
        power_mw=None,
        rule=rule,
        text=text,
    )
