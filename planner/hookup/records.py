"""What the designer is asked and what it answers."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.hookup.television import AirChannels
    from planner.hookup.trees import Tree
    from planner.records.hookup import Part


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ReceiverGroup:
    """Receivers of one rack that hang on one pair of branches.

    Attributes
    ----------
    ranges : tuple of str
        Keys of their tuning ranges.
    low_hz, high_hz : int
        Spectrum their carriers may touch [Hz].
    names : tuple of str
        Lines, in order; as many as there are receivers.
    inputs : int
        Antenna inputs of one branch: a receiver of several channels has one for all of them.
    bandwidth_hz : int
        Of one carrier [Hz].
    noise_figure_db, required_snr_db : float
        Of the receiver [dB].
    snr_assumed : bool
        True where the catalogue says none.
    eirp_dbm : float
        Least radiated power of a transmitter [dBm].
    body_loss_db : float
        Loss in the performer [dB].
    """

    ranges: tuple[str, ...]
    low_hz: int
    high_hz: int
    names: tuple[str, ...]
    inputs: int
    bandwidth_hz: int = 200_000
    noise_figure_db: float = 6.0
    required_snr_db: float = 20.0
    snr_assumed: bool = True
    eirp_dbm: float = 10.0
    body_loss_db: float = 12.0

    @property
    def middle_hz(self) -> float:
        """Middle of its span [Hz]."""
        return (self.low_hz + self.high_hz) / 2


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Carrier:
    """A line's carrier at a stop.

    Attributes
    ----------
    interference_dbm : float or None
        What an isotropic antenna takes of others in its bandwidth [dBm]; None: none known.
    """

    name: str
    frequency_hz: int
    interference_dbm: float | None = None


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class LocalTransmitter:
    """An in-ear transmitter of ours at a stop: carrier and conducted power.

    Attributes
    ----------
    power_dbm : float
        At its own connector [dBm].
    power_kind : str
        How the catalogue measures it; from radiated figures the connector's is derived with a
        half-wave dipole (2.15 dBi).
    limit_mw, limit_kind : float or None, str
        What the rule permits [mW], and how it is measured; None: no figure.
    rule : str
        Its section.
    """

    name: str
    frequency_hz: int
    power_dbm: float
    power_kind: str = "conducted"
    limit_mw: float | None = None
    limit_kind: str = ""
    rule: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class StopScene:
    """What surrounds the rig at one stop.

    Attributes
    ----------
    stop : str
        Id of the stop; empty where no tour is known.
    place : str
        For people.
    air : AirChannels
        Transmitters that arrive.
    carriers : mapping of str to tuple of Carrier
        Microphone carriers by line name and need: keys are need names.
    environment : str
        Surroundings for external noise.
    location_error_km : float
        How far the place may lie from where it is taken [km].
    transmitters : tuple of LocalTransmitter
        In-ear transmitters on the air here.
    """

    stop: str
    place: str
    air: AirChannels
    carriers: Mapping[str, tuple[Carrier, ...]]
    environment: str = "city"
    location_error_km: float = 0.0
    transmitters: tuple[LocalTransmitter, ...] = ()


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Arrangement:
    """Everything between the antennas of a group and its receivers.

    Attributes
    ----------
    antenna, cable : Part
        Cable may be a link over fibre.
    amplifier, filter, attenuator, inserter, joiner : Part or None
        In-line amplifier and filter at the antenna; at the rack: the part that feeds the
        amplifier, the attenuator, and the joint of several antennas.
    tree : Tree
        Splitters of one branch.
    lead : Part or None
        Cable from a splitter to a receiver.
    """

    antenna: Part
    cable: Part
    tree: Tree
    amplifier: Part | None = None
    filter: Part | None = None
    attenuator: Part | None = None
    inserter: Part | None = None
    joiner: Part | None = None
    lead: Part | None = None

    @property
    def powered(self) -> bool:
        """Whether any part amplifies."""
        line = (self.cable, self.amplifier, *(node.part for node in self.tree.nodes))
        return any(part is not None and part.active for part in line)

    def boxes(self, zones: int = 1) -> int:
        """Return how many boxes it takes beside antennas and cables, both branches counted."""
        at_antenna = sum(part is not None for part in (self.amplifier, self.filter))
        at_rack = sum(part is not None for part in (self.attenuator, self.joiner))
        fed = zones if self.inserter else 0
        return self.tree.pieces() + 2 * (zones * at_antenna + at_rack + fed)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """Something that is not as it should be, and what to do.

    Attributes
    ----------
    code : str
        A word.
    where : str
        Rack, branch or stop.
    text, advice : str
        One sentence each.
    excess : float
        By how much a limit is passed [dB]; 0 for a remark.
    """

    code: str
    where: str
    text: str
    advice: str = ""
    excess: float = 0.0
