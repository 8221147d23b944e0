"""Level budget of a branch at a stop: gain, noise, wanted levels, television, limits."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

import numpy as np

from planner.field_strength.external_noise import external_noise_db
from planner.field_strength.free_space import path_loss_db
from planner.field_strength.noise import power_sum_dbm, thermal_noise_dbm
from planner.field_strength.working_range import fading_allowance_db, link_loss_db
from planner.hookup.chains import noise_factor, total_gain_db
from planner.hookup.television import (
    antenna_pattern_db,
    products_dbm,
    strongest,
    triples_of,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.hookup.chains import Element
    from planner.hookup.records import ReceiverGroup, StopScene
    from planner.hookup.television import Triples
    from planner.records.hookup import HookupSpec, Part

    FloatColumn = npt.NDArray[np.float64]

HELICAL_LOSS_DB = 10 * math.log10(2)
"""A helical antenna takes half the power of a linear wave (identity)."""
NEAR_MICROPHONES = 2
"""Transmitters taken to stand at the near edge at once; our own choice."""
SERVED_PERCENT = 99.0
FAR_EXPONENT = 2.7
"""As in working ranges: common practice, no source."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AtAntenna:
    """Everything at the output of one antenna at one stop, of one group.

    Attributes
    ----------
    floor_factor : (n,) float64
        Noise factor that external noise adds at each carrier (ITU-R P.372).
    carriers_hz : (n,) float64
        Carriers, ascending; the lowest and highest that are possible where none is planned.
    far_dbm, near_dbm : (n,) float64
        Wanted level from the far edge with body loss, from the near edge without [dBm].
    fading_db : float
        Allowance for fading, two branches [dB].
    interference_mw : (n,) float64
        Of others in a carrier's bandwidth [mW].
    tv_hz, tv_dbm, tv_spread_db : (m,) float64
        Television: middles [Hz], power, spread.
    tv_label : tuple of str
        Who.
    tv_bearing_deg : (m,) float64
        Where from [deg].
    local_hz, local_dbm : (k,) float64
        In-ear transmitters of our own.
    picked : (p,) int64
        Television channels that enter products.
    triples : Triples
        Their products.
    """

    stop: str
    place: str
    floor_factor: FloatColumn
    carriers_hz: FloatColumn
    far_dbm: FloatColumn
    near_dbm: FloatColumn
    fading_db: float
    interference_mw: FloatColumn
    tv_hz: FloatColumn
    tv_dbm: FloatColumn
    tv_spread_db: FloatColumn
    tv_bearing_deg: FloatColumn
    tv_label: tuple[str, ...]
    local_hz: FloatColumn
    local_dbm: FloatColumn
    picked: npt.NDArray[np.int64]
    triples: Triples


def at_antenna(
    antenna: Part,
    group: ReceiverGroup,
    scene: StopScene,
    spec: HookupSpec,
    *,
    local_eirp_dbm: Sequence[float] = (),
) -> AtAntenna:
    """Return what stands at the output of an antenna.

    Parameters
    ----------
    antenna : Part
        With its gain, pattern and polarisation.
    group, scene, spec : ReceiverGroup, StopScene, HookupSpec
        Carriers and transmitters; the stop; distances and obstruction.
    local_eirp_dbm : sequence of float
        Radiated power of each in-ear transmitter of the scene [dBm].
    """
    mine = set(group.names)
    found = {c.frequency_hz: c for row in scene.carriers.values() for c in row if c.name in mine}
    picked_hz = sorted(found) or sorted({group.low_hz, group.high_hz})
    carriers = np.array(picked_hz, dtype=np.float64)
    others = [found[f].interference_dbm if f in found else None for f in picked_hz]
    gain = (antenna.gain_dbi or 0.0) - (
        HELICAL_LOSS_DB if antenna.polarization == "helical" else 0.0
    )
    radiated = group.eirp_dbm + gain - spec.obstruction_db

    def loss(distance_m: float) -> FloatColumn:
        return np.array([link_loss_db(distance_m, f, far_exponent=FAR_EXPONENT) for f in carriers])

    air = scene.air
    tv_dbm = air.power_dbm + gain + _aside_db(antenna, air.bearing_deg, spec)
    picked = strongest(air, tv_dbm)
    back = -(antenna.front_to_back_db or 0.0) if spec.transmit.opposite else 0.0
    local_hz = np.array([row.frequency_hz for row in scene.transmitters], dtype=np.float64)
    local = np.array(local_eirp_dbm, dtype=np.float64)
    if len(local_hz):
        local = local - path_loss_db(
            np.full(len(local_hz), spec.transmit.separation_m / 1e3), local_hz
        )
        local = local + gain + back
    return AtAntenna(
        stop=scene.stop,
        place=scene.place,
        floor_factor=10 ** (np.asarray(external_noise_db(carriers, scene.environment)) / 10),
        carriers_hz=carriers,
        far_dbm=radiated - group.body_loss_db - loss(spec.far_m),
        near_dbm=radiated - loss(spec.near_m),
        fading_db=fading_allowance_db(SERVED_PERCENT, 2),
        interference_mw=np.array(
            [0.0 if x is None else 10 ** ((x + gain) / 10) for x in others], dtype=np.float64
        ),
        tv_hz=air.centre_hz,
        tv_dbm=tv_dbm,
        tv_spread_db=air.spread_db,
        tv_bearing_deg=air.bearing_deg,
        tv_label=air.label,
        local_hz=local_hz,
        local_dbm=local,
        picked=picked,
        triples=triples_of(
            air.centre_hz[picked],
            air.occupied_hz[picked],
            picked_hz,
            bandwidth_hz=float(group.bandwidth_hz),
        ),
    )


def _aside_db(antenna: Part, bearing_deg: FloatColumn, spec: HookupSpec) -> FloatColumn:
    if spec.antenna_azimuth_deg is None:
        return np.zeros_like(bearing_deg)
    return antenna_pattern_db(
        bearing_deg - spec.antenna_azimuth_deg,
        beam_deg=antenna.beam_deg,
        front_to_back_db=antenna.front_to_back_db,
    )


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class PartLoad:
    """What an active part carries.

    Attributes
    ----------
    step : int
        Its place in the row.
    total_dbm : float
        All signals at its output [dBm], television as predicted.
    spread_db : float
        What one standard deviation of television adds [dB].
    p1db_dbm : float
        Its 1 dB compression [dBm].
    """

    part: str
    step: int
    total_dbm: float
    spread_db: float
    p1db_dbm: float

    @property
    def margin_db(self) -> float:
        """Distance to compression [dB]; negative beyond it."""
        return self.p1db_dbm - self.total_dbm


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Budget:
    """One path of one branch at one stop; columns over the carriers of ``antenna``.

    Attributes
    ----------
    gain_db, noise_figure_db, sensitivity_loss_db : (n,) float64
        Antenna output to receiver input; of branch and receiver together; its rise over the
        receiver alone [dB].
    margin_db : (n,) float64
        At the far edge, over the required signal-to-noise ratio [dB].
    product_rise_db : (n,) float64
        Rise of the noise by products of television made in the branch [dB].
    product_rise_spread_db : float
        The greatest with television one standard deviation stronger [dB].
    noise_dbm : (n,) float64
        All noise in a carrier's bandwidth, referred to the antenna output [dBm].
    loads : tuple of PartLoad
        Active parts with a known compression point.
    """

    antenna: AtAntenna
    elements: tuple[Element, ...]
    gain_db: FloatColumn
    noise_figure_db: FloatColumn
    sensitivity_loss_db: FloatColumn
    margin_db: FloatColumn
    product_rise_db: FloatColumn
    product_rise_spread_db: float
    noise_dbm: FloatColumn
    loads: tuple[PartLoad, ...]

    @property
    def compression_margin_db(self) -> float:
        """Least distance to compression [dB]; infinite where nothing can compress."""
        return min((row.margin_db for row in self.loads), default=math.inf)


def examine(elements: Sequence[Element], group: ReceiverGroup, antenna: AtAntenna) -> Budget:
    """Return the level budget of a path.

    Parameters
    ----------
    elements : sequence of Element
        Antenna output to receiver input.
    group : ReceiverGroup
        Receiver and transmitters.
    antenna : AtAntenna
        What comes in.
    """
    carriers = antenna.carriers_hz
    gain = total_gain_db(elements, carriers)
    factor = noise_factor(elements, carriers) + (10 ** (group.noise_figure_db / 10) - 1) / (
        10 ** (gain / 10)
    )
    figure = 10 * np.log10(factor)
    thermal_mw = 10 ** (thermal_noise_dbm(float(group.bandwidth_hz), 0.0) / 10)
    floor_mw = thermal_mw * (factor + antenna.floor_factor) + antenna.interference_mw
    amplitude = product_amplitude(elements, antenna, group)
    made_mw = _made_mw(antenna, amplitude, spread=False)
    spread_mw = _made_mw(antenna, amplitude, spread=True)
    noise_dbm = 10 * np.log10(floor_mw + made_mw)
    wanted_dbm = antenna.far_dbm - antenna.fading_db
    return Budget(
        antenna=antenna,
        elements=tuple(elements),
        gain_db=gain,
        noise_figure_db=figure,
        sensitivity_loss_db=figure - group.noise_figure_db,
        margin_db=wanted_dbm - noise_dbm - group.required_snr_db,
        product_rise_db=10 * np.log10(1 + made_mw / floor_mw),
        product_rise_spread_db=float((10 * np.log10(1 + spread_mw / floor_mw)).max(initial=0.0)),
        noise_dbm=noise_dbm,
        loads=_loads(elements, antenna),
    )


def product_amplitude(
    elements: Sequence[Element], antenna: AtAntenna, group: ReceiverGroup
) -> FloatColumn | None:
    """Return how strongly each product of television is made, None where nothing makes any.

    Returns
    -------
    (t,) float64 or None
        For each of ``antenna.triples`` the sum of 1 / IIP3 over the parts, referred to the antenna
        output [1/mW]; products add in phase from part to part, the worst case.
    """
    active = [step.part is not None and step.part.oip3_dbm is not None for step in elements]
    if not len(antenna.picked) or not any(active):
        return None
    triples = antenna.triples
    tv_hz = antenna.tv_hz[antenna.picked]
    tv_gain, own_gain = np.zeros(len(tv_hz)), 0.0
    amplitude = np.zeros(len(triples.a))
    for step in elements:
        tv_gain = tv_gain + step.gain_db(tv_hz) + _joined_db(step)
        own_gain += step.gain_at_db(group.middle_hz)
        amplitude *= math.sqrt(step.joined)  # what each front made, added in power
        if step.part is None or step.part.oip3_dbm is None:
            continue
        sources = tv_gain[triples.a] + tv_gain[triples.b] + tv_gain[triples.c]
        amplitude += 10 ** ((sources - own_gain) / 20 - step.part.oip3_dbm / 10)
    return amplitude


def _made_mw(antenna: AtAntenna, amplitude: FloatColumn | None, *, spread: bool) -> FloatColumn:
    """Return the products of television made in the branch, at the antenna output [mW]."""
    if amplitude is None:
        return np.zeros(len(antenna.carriers_hz))
    powers = antenna.tv_dbm[antenna.picked]
    if spread:
        powers = powers + antenna.tv_spread_db[antenna.picked]
    made: FloatColumn = 10 ** (products_dbm(powers, antenna.triples, amplitude) / 10)
    return made


def _loads(elements: Sequence[Element], antenna: AtAntenna) -> tuple[PartLoad, ...]:
    tv_gain = np.zeros(len(antenna.tv_hz))
    own_gain = np.zeros(len(antenna.carriers_hz))
    local_gain = np.zeros(len(antenna.local_hz))
    near = np.sort(antenna.near_dbm)[::-1][:NEAR_MICROPHONES]
    found = []
    for place, step in enumerate(elements):
        tv_gain = (tv_gain + step.gain_db(antenna.tv_hz)) + _joined_db(step)
        own_gain = own_gain + step.gain_db(antenna.carriers_hz)
        local_gain = local_gain + step.gain_db(antenna.local_hz) + _joined_db(step)
        if not step.active or step.part is None or step.part.p1db_dbm is None:
            continue
        ours = np.concatenate([near + own_gain.max(), antenna.local_dbm + local_gain])
        tv = antenna.tv_dbm + tv_gain
        total = float(power_sum_dbm(np.concatenate([ours, tv])))
        stronger = float(power_sum_dbm(np.concatenate([ours, tv + antenna.tv_spread_db])))
        found.append(
            PartLoad(
                part=step.label,
                step=place,
                total_dbm=total,
                spread_db=stronger - total,
                p1db_dbm=step.part.p1db_dbm,
            )
        )
    return tuple(found)


def _joined_db(step: Element) -> float:
    """Return what a joint adds to signals that every antenna hears [dB]."""
    return 10 * math.log10(step.joined)
