"""One row of a gear catalogue: a tuning range and mode of one family."""

from __future__ import annotations

import dataclasses

from planner.units import shortest_mhz

RETURN = " (return)"
"""Ends the name of the way back of a duplex range, and of a need that uses one."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class GearRange:
    """A tuning range, named by its limits, with its guard set.

    Attributes
    ----------
    family, mode, role, form : str
        ``form`` may be empty (any).
    low_hz, high_hz : int
        Lowest and highest carrier centre [Hz]; for blocks the edges the block may fill.
    tuning_origin_hz, step_hz : int
        Carriers, and middles of blocks, are ``tuning_origin_hz + k * step_hz`` [Hz].
    pieces_hz : tuple of (int, int)
        Carrier-centre spans it can tune; empty means low to high.
    bandwidth_hz, spacing_hz : int
        Occupied bandwidth and least distance between two carriers of this row [Hz]; blocks
        keep at least their bandwidth.
    guard_2a_b_hz, guard_a_b_c_hz, guard_3a_2b_hz : int
        Least distance from a product to this row's carriers [Hz]; 0 means not protected.
    modulation : str
        ``"fm"``, ``"digital-constant"``, ``"digital-linear"`` or ``"wideband"``; may be empty.
    powers_mw : tuple of float
        All power settings, ascending [mW], measured as ``power_kind``.
    power_kind : str
        ``"EIRP"``, ``"ERP"`` or ``"conducted"``.
    links_per_block : int
        More than 0: a wideband block shared by that many links.
    noise_figure_db, sensitivity_dbm, required_snr_db : float or None
        Receiver figures; None when unknown.
    duplex_low_hz, duplex_high_hz : int or None
        Lowest and highest carrier centre of the way back [Hz]; None where there is none.
    countries : tuple of str
        ISO codes where it is approved; empty means not said.
    available : int or None
        Pieces in stock; None when unknown.
    order : int
        Position in the catalogue, from 0.
    return_of : str
        Key of the row whose way back this is; empty for a row of the catalogue.
    """

    family: str
    mode: str = ""
    role: str
    form: str = ""
    low_hz: int
    high_hz: int
    tuning_origin_hz: int
    step_hz: int
    pieces_hz: tuple[tuple[int, int], ...] = ()
    transmitter_span_hz: int | None = None
    chassis_channels: int | None = None
    chassis_span_hz: int | None = None
    bandwidth_hz: int
    spacing_hz: int
    guard_2a_b_hz: int = 0
    guard_a_b_c_hz: int = 0
    guard_3a_2b_hz: int = 0
    modulation: str = ""
    powers_mw: tuple[float, ...]
    power_kind: str = "EIRP"
    links_per_block: int = 0
    duplex_low_hz: int | None = None
    duplex_high_hz: int | None = None
    noise_figure_db: float | None = None
    sensitivity_dbm: float | None = None
    required_snr_db: float | None = None
    countries: tuple[str, ...] = ()
    available: int | None = None
    status: str = "current"
    note: str = ""
    order: int = 0
    return_of: str = ""

    @property
    def key(self) -> str:
        """Family, limits in shortest MHz, and mode: unique in a catalogue."""
        if self.return_of:
            return self.return_of + RETURN
        limits = f"{shortest_mhz(self.low_hz)}-{shortest_mhz(self.high_hz)}"
        return f"{self.family} {limits} {self.mode}".rstrip()

    @property
    def centre_spans_hz(self) -> tuple[tuple[int, int], ...]:
        """Closed spans in which a carrier centre may stand [Hz], ascending."""
        return self.pieces_hz or ((self.low_hz, self.high_hz),)

    @property
    def searched_span_hz(self) -> tuple[int, int]:
        """Spectrum the row could touch: half a bandwidth beyond its limits, blocks to the edge."""
        if self.links_per_block:
            return self.low_hz, self.high_hz
        half = (self.bandwidth_hz + 1) // 2
        return self.low_hz - half, self.high_hz + half
