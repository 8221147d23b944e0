"""The receiver of a catalogue row: its own noise, what raises it, how far its link works."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from planner.field_strength.external_noise import ENVIRONMENTS, environment_of
from planner.field_strength.external_noise import system_noise_figure_db as with_external
from planner.field_strength.noise import noise_rise_db, thermal_noise_dbm
from planner.field_strength.working_range import (
    LinkAssumptions,
    fading_allowance_db,
    working_range_m,
)
from planner.occupancy.cleared import CLEARED
from planner.units import convert_power_mw

if TYPE_CHECKING:
    from planner.occupancy.records import AirSpan, Occupancy
    from planner.records import GearRange, Settings, Stop

IN_EAR = "in-ear"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Receiver:
    """What is known of the receiver of a catalogue row.

    Attributes
    ----------
    noise_figure_db : float
        Its noise figure [dB].
    source : str
        ``"noise figure"``, ``"sensitivity"`` or ``"reference"``: where the figure is from.
    required_snr_db : float or None
        Signal-to-noise ratio it needs [dB]; None when unknown.
    """

    noise_figure_db: float
    source: str
    required_snr_db: float | None


def receiver_of(gear: GearRange, settings: Settings) -> Receiver:
    """Return the receiver of a catalogue row.

    Parameters
    ----------
    gear : GearRange
        Noise figure, or sensitivity with the signal-to-noise ratio it is told for. Intake refuses
        what lies outside 0 to 15 dB and figures that disagree by more than 3 dB.
    settings : Settings
        Noise figure of the reference receiver, for a row that says neither.
    """
    snr_db = gear.required_snr_db
    if gear.noise_figure_db is not None:
        return Receiver(
            noise_figure_db=gear.noise_figure_db, source="noise figure", required_snr_db=snr_db
        )
    if gear.sensitivity_dbm is not None and snr_db is not None:
        own_db = gear.sensitivity_dbm - snr_db - thermal_noise_dbm(gear.bandwidth_hz, 0.0)
        return Receiver(noise_figure_db=own_db, source="sensitivity", required_snr_db=snr_db)
    return Receiver(
        noise_figure_db=settings.reference_noise_figure_db,
        source="reference",
        required_snr_db=snr_db,
    )


def surroundings(stop: Stop, settings: Settings) -> str:
    """Return the surroundings by which external noise is taken: city, residential or rural."""
    if settings.noise_environment in ENVIRONMENTS:
        return settings.noise_environment
    return environment_of(stop.people_near)


def floor_noise_figure_db(
    frequency_hz: int, *, noise_figure_db: float, stop: Stop, settings: Settings
) -> float:
    """Return a receiver's noise figure at a stop, with the noise its antenna brings in [dB]."""
    return with_external(
        float(frequency_hz),
        noise_figure_db=noise_figure_db,
        environment=surroundings(stop, settings),
    )


def carrier_rise_db(
    gear: GearRange | None,
    occupancy: Occupancy,
    *,
    air: AirSpan | None,
    span_hz: tuple[int, int],
    settings: Settings,
) -> float | None:
    """Return the rise of a receiver's own noise on one carrier, in its own bandwidth.

    Parameters
    ----------
    gear : GearRange or None
        The row of the carrier; None for somebody else's, judged by the reference receiver.
    occupancy : Occupancy
        The stop's air with its curve.
    air : AirSpan or None
        The span that decides; None outside the searched span.
    span_hz : (int, int)
        Edges of the occupied bandwidth [Hz].
    settings : Settings
        The reference receiver.

    Returns
    -------
    float or None
        Rise [dB], to 0.1 dB; None where the span's own is None or a field is not computed.

    Notes
    -----
    External noise is not part of the noise that is raised: with it interference would seem to do
    less harm in a noisy place, and a noisy band would look clear.
    """
    if air is None or air.noise_rise_db is None:
        return None
    bandwidth_hz = span_hz[1] - span_hz[0]
    interference_dbm = _interference_dbm(occupancy, air, span_hz=span_hz, settings=settings)
    if interference_dbm is None:
        return air.noise_rise_db
    own_db = (
        settings.reference_noise_figure_db
        if gear is None
        else receiver_of(gear, settings).noise_figure_db
    )
    noise_dbm = thermal_noise_dbm(float(bandwidth_hz), own_db)
    return round(noise_rise_db(interference_dbm, noise_dbm), 1)


def _interference_dbm(
    occupancy: Occupancy, air: AirSpan, *, span_hz: tuple[int, int], settings: Settings
) -> float | None:
    """Return the interference in a carrier's bandwidth; what was measured goes before."""
    measured = bool(air.reasons) and air.reasons[0].code == CLEARED
    if occupancy.curve is not None and not measured:
        return occupancy.curve.power_dbm(*span_hz)
    if air.noise_rise_db is None or air.noise_rise_db <= 0.0:
        return None if air.noise_rise_db is None else -math.inf
    noise_dbm = thermal_noise_dbm(
        float(span_hz[1] - span_hz[0]), settings.reference_noise_figure_db
    )
    return noise_dbm + 10 * math.log10(10 ** (air.noise_rise_db / 10) - 1)


def carrier_range_m(
    gear: GearRange | None,
    occupancy: Occupancy,
    *,
    air: AirSpan | None,
    span_hz: tuple[int, int],
    link: CarrierLink,
) -> tuple[float | None, str]:
    """Return how far a carrier works, for comparing channels.

    Parameters
    ----------
    gear : GearRange or None
        The row of the carrier.
    occupancy : Occupancy
        The stop's air with its curve.
    air : AirSpan or None
        The span that decides.
    span_hz : (int, int)
        Edges of the occupied bandwidth [Hz].
    link : CarrierLink
        Power, form, role and where.

    Returns
    -------
    float or None, str
        Distance to the metre, not capped, or None with the reason.

    Notes
    -----
    The greatest distance at which the wanted signal exceeds noise (own and external) and
    interference by the required ratio, with body loss and a fading allowance. For in-ears the
    victim is the pack on the performer; the interference is that at the stop's antenna height,
    which is more than at the belt. Transmitting and receiving antennas are isotropic, a conducted
    power is fed to a half-wave dipole.
    """
    if gear is None:
        return None, "nothing is known of somebody else's receiver"
    receiver = receiver_of(gear, link.settings)
    if receiver.required_snr_db is None:
        return None, f"the catalogue gives no required_snr_db for {gear.key}"
    if link.power_mw is None:
        return None, "no power setting is lawful here"
    if air is None or air.noise_rise_db is None:
        return None, "interference is not known here"
    interference_dbm = _interference_dbm(occupancy, air, span_hz=span_hz, settings=link.settings)
    if interference_dbm is None:
        return None, "interference is not known here"
    frequency_hz = (span_hz[0] + span_hz[1]) // 2
    floor_dbm = thermal_noise_dbm(
        float(gear.bandwidth_hz),
        floor_noise_figure_db(
            frequency_hz,
            noise_figure_db=receiver.noise_figure_db,
            stop=link.stop,
            settings=link.settings,
        ),
    )
    disturbed_dbm = floor_dbm + noise_rise_db(interference_dbm, floor_dbm)
    assumed = LinkAssumptions(far_exponent=link.settings.range_exponent)
    branches = assumed.in_ear_branches if link.role == IN_EAR else assumed.microphone_branches
    radiated_mw = convert_power_mw(link.power_mw, gear.power_kind, "EIRP")
    margin_db = (
        10 * math.log10(radiated_mw)
        - assumed.body_loss_db("body-worn" if link.role == IN_EAR else link.form)
        - fading_allowance_db(assumed.served_percent, branches)
        - disturbed_dbm
        - receiver.required_snr_db
    )
    found_m = working_range_m(margin_db, float(frequency_hz), far_exponent=assumed.far_exponent)
    return float(round(found_m)), ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class CarrierLink:
    """What :func:`carrier_range_m` needs to know of a carrier beside its spectrum.

    Attributes
    ----------
    power_mw : float or None
        The power setting chosen [mW], measured as the row says.
    form, role : str
        Hand-held, body-worn or rack; what it is for.
    stop, settings : Stop, Settings
        Where; assumptions.
    """

    power_mw: float | None
    form: str
    role: str
    stop: Stop
    settings: Settings
