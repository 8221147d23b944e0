"""What a hook-up is made of and asked for: parts of a catalogue, racks, limits, transmit side."""

from __future__ import annotations

import dataclasses

from planner.units import shortest_mhz

ANTENNA = "antenna"
SPLITTER = "splitter"
COMBINER = "combiner"
AMPLIFIER = "amplifier"
ATTENUATOR = "attenuator"
FILTER = "filter"
CABLE = "cable"
FIBRE = "fibre"
ADAPTOR = "adaptor"
LOAD = "load"
SUPPLY = "supply"
INSERTER = "power-inserter"
PART_KINDS = (
    ANTENNA,
    SPLITTER,
    COMBINER,
    AMPLIFIER,
    ATTENUATOR,
    FILTER,
    CABLE,
    FIBRE,
    ADAPTOR,
    LOAD,
    SUPPLY,
    INSERTER,
)
POLARIZATIONS = ("linear", "helical")
NEEDS_POWER, GIVES_POWER, PASSES_POWER = "needs", "gives", "passes"
LINE_POWERS = (NEEDS_POWER, GIVES_POWER, PASSES_POWER)
DISTRIBUTIONS = ("any", "powered", "passive")


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Part:
    """One row of a parts catalogue.

    Attributes
    ----------
    name, kind : str
        Unique name; one of :data:`PART_KINDS`.
    low_hz, high_hz : int
        Band in which the figures hold [Hz]; both 0 where the part does not care.
    ways : int
        Outputs of a splitter, inputs of a combiner; 1 otherwise.
    branches : int
        2 where one piece serves both diversity branches.
    gain_db : float
        From input to each way [dB]; negative is loss.
    gain_dbi, beam_deg, front_to_back_db : float or None
        Of an antenna: gain over isotropic [dBi], half-power width in azimuth [deg] (None: all
        round), front to back ratio [dB].
    polarization : str
        ``"linear"`` or ``"helical"``.
    noise_figure_db : float or None
        Of an active part [dB]; None marks a passive one, whose noise figure is its loss.
    oip3_dbm, p1db_dbm : float or None
        Third-order intercept and 1 dB compression at one output [dBm]; None: taken as linear.
    cascade_ports : int
        Outputs that feed a further splitter, beside the ways.
    cascade_gain_db : float
        From input to such a port [dB].
    rejection_db, skirt_hz : float, int
        Of a filter: what it takes off once ``skirt_hz`` past its band, rising evenly to there.
    cable_a, cable_b : float
        Attenuation ``a sqrt(f) + b f`` [dB per 100 m], f in MHz.
    lengths_m : tuple of float
        Lengths sold [m], ascending; empty: made to length. Of a fibre link the greatest length.
    connector, connector_out : str
        Words; empty: fits everything. ``connector_out`` empty: as ``connector``.
    impedance_ohm : float
        Of its ports [ohm].
    rack_units : float
        Height in a rack.
    watts, supply_ma : float
        Mains power it takes [W]; direct current it needs, or gives, over the cable [mA].
    line_power : str
        ``"needs"``, ``"gives"`` or ``"passes"`` direct current at its antenna side; may be empty.
    outlets : int
        Mains plugs it needs.
    available : int or None
        Pieces in stock; None when unknown.
    """

    name: str
    kind: str
    low_hz: int = 0
    high_hz: int = 0
    ways: int = 1
    branches: int = 1
    gain_db: float = 0.0
    gain_dbi: float | None = None
    beam_deg: float | None = None
    front_to_back_db: float | None = None
    polarization: str = "linear"
    noise_figure_db: float | None = None
    oip3_dbm: float | None = None
    p1db_dbm: float | None = None
    cascade_ports: int = 0
    cascade_gain_db: float = 0.0
    rejection_db: float = 0.0
    skirt_hz: int = 0
    cable_a: float = 0.0
    cable_b: float = 0.0
    lengths_m: tuple[float, ...] = ()
    connector: str = ""
    connector_out: str = ""
    impedance_ohm: float = 50.0
    rack_units: float = 0.0
    watts: float = 0.0
    supply_ma: float = 0.0
    line_power: str = ""
    outlets: int = 0
    available: int | None = None
    note: str = ""
    order: int = 0

    @property
    def active(self) -> bool:
        """Whether the part amplifies: it then has noise, power and limits of its own."""
        return self.noise_figure_db is not None

    @property
    def output(self) -> str:
        """Connector at its far end."""
        return self.connector_out or self.connector

    @property
    def band(self) -> str:
        """Its band in words, in MHz."""
        if not self.high_hz:
            return "any frequency"
        return f"{shortest_mhz(self.low_hz)}-{shortest_mhz(self.high_hz)} MHz"

    def covers(self, low_hz: int, high_hz: int) -> bool:
        """Say whether its figures hold over a whole span."""
        return not self.high_hz or (self.low_hz <= low_hz and high_hz <= self.high_hz)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class HookupLimits:
    """What an arrangement must keep to.

    Attributes
    ----------
    gain_low_db, gain_high_db, gain_most_db : float
        Window of the net gain from antenna output to receiver input [dB] and what it must never
        pass (0 to 6, at most 10: common practice, no source).
    gain_low_binds : bool
        Whether a powered arrangement below the window is refused; else that is a remark, and the
        loss is judged by what it costs in sensitivity.
    sensitivity_loss_most_db : float
        Greatest rise of the noise figure from the receiver alone to the whole branch [dB]: 6 dB
        halves the free-space range; our own choice.
    margin_least_db : float
        Least margin over the required signal-to-noise ratio at the far edge [dB].
    compression_margin_db : float
        Least distance from all received power to a part's 1 dB compression [dB]; common practice,
        no source.
    receiver_most_dbm : float
        Greatest wanted level at a receiver's input [dBm]; common practice, no source.
    product_rise_most_db : float
        Greatest rise of the noise by third-order products made in the branch [dB]; our own choice.
    """

    gain_low_db: float = 0.0
    gain_high_db: float = 6.0
    gain_most_db: float = 10.0
    gain_low_binds: bool = False
    sensitivity_loss_most_db: float = 6.0
    margin_least_db: float = 0.0
    compression_margin_db: float = 10.0
    receiver_most_dbm: float = -10.0
    product_rise_most_db: float = 1.0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class RackSpec:
    """One receiver rack as the user describes it.

    Attributes
    ----------
    name : str
        Unique.
    needs : tuple of str
        Needs whose receivers stand in it; empty: all of the role ``mic``.
    receivers : int
        How many of their lines stand here; 0: all that no other rack took.
    cables_m : (float, float)
        Length of the antenna cable of either branch [m].
    zones : tuple of str
        Places with an antenna pair each, joined on one branch; one or more.
    zone_cables_m : tuple of float
        Cable length of each zone [m]; empty: ``cables_m`` for all.
    antenna, cable : str
        Part names; empty: as the hook-up says.
    """

    name: str
    needs: tuple[str, ...] = ()
    receivers: int = 0
    cables_m: tuple[float, float] = (30.0, 30.0)
    zones: tuple[str, ...] = ("stage",)
    zone_cables_m: tuple[float, ...] = ()
    antenna: str = ""
    cable: str = ""

    def length_m(self, branch: int, zone: int) -> float:
        """Return the cable length of a branch (0 or 1) in a zone [m]."""
        return self.zone_cables_m[zone] if self.zone_cables_m else self.cables_m[branch]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class TransmitSpec:
    """The transmit side: in-ear transmitters in a rack, combined into an antenna an area.

    Attributes
    ----------
    antenna, cable, combiner : str
        Part names; empty: the first of the catalogue that fits.
    cable_m : float
        From the combiner to the antenna [m].
    areas : tuple of str
        Coverage areas, one transmit antenna each.
    separation_m : float
        Least distance between a transmit and a receive antenna [m].
    opposite : bool
        True where the receive antennas turn their backs to the transmit antennas.
    """

    antenna: str = ""
    cable: str = ""
    combiner: str = ""
    cable_m: float = 10.0
    areas: tuple[str, ...] = ("stage",)
    separation_m: float = 5.0
    opposite: bool = False


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class HookupSpec:
    """The ``[hookup]`` part of a tour file, or the same from a command line.

    Attributes
    ----------
    racks : tuple of RackSpec
        At least one.
    antenna, cable : str
        Part names for every rack that names none; an empty antenna lets the designer choose.
    antenna_azimuth_deg : float or None
        Where directional antennas look, from true north; None: straight at each transmitter, the
        worst case.
    distribution : str
        ``"any"``, ``"powered"`` or ``"passive"``.
    avoid : tuple of str
        Parts not to use.
    near_m, far_m : float
        Distance of the performers from the antennas at the near and far edge of the stage [m].
    obstruction_db : float
        Loss of what stands between stage and antennas [dB].
    patch_m : float
        Length of a lead from splitter to receiver [m].
    connector_loss_db : float
        Loss of one mated pair [dB].
    required_snr_db : float
        Where the gear catalogue says none [dB].
    spares : int
        Spare pieces of every kind of antenna, cable, amplifier and supply.
    mains : str
        ISO code of the country whose plugs are wanted; empty: not said.
    receiver_rack_units : float
        Height of one receiver.
    """

    racks: tuple[RackSpec, ...]
    parts_file: str = "parts.csv"
    antenna: str = ""
    cable: str = ""
    antenna_azimuth_deg: float | None = None
    distribution: str = "any"
    avoid: tuple[str, ...] = ()
    near_m: float = 3.0
    far_m: float = 25.0
    obstruction_db: float = 0.0
    patch_m: float = 1.0
    connector_loss_db: float = 0.15
    required_snr_db: float = 20.0
    spares: int = 1
    mains: str = ""
    receiver_rack_units: float = 0.5
    limits: HookupLimits = HookupLimits()
    transmit: TransmitSpec = TransmitSpec()
