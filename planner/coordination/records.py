"""Records of coordination: guards, carriers, grids, what is asked for and what was found."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Literal

import numpy as np

from planner.units import HZ_PER_KHZ, format_mhz

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

Effort = Literal["glance", "quick", "normal", "hard", "long"]
"""How many starts a search makes; it never changes what is a valid answer."""

Kind = Literal["spacing", "2A-B", "A+B-C", "3A-2B"]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class GuardSet:
    """Spacing and product distances of one catalogue row.

    Attributes
    ----------
    spacing_hz : int
        Least distance to any other carrier [Hz]; between rows the larger one governs.
    guard_2a_b_hz, guard_a_b_c_hz, guard_3a_2b_hz : int
        Least distance of a product to this row's carriers [Hz]; 0 means not protected.

    Raises
    ------
    ValueError
        When a distance is negative.
    """

    spacing_hz: int
    guard_2a_b_hz: int = 0
    guard_a_b_c_hz: int = 0
    guard_3a_2b_hz: int = 0

    def __post_init__(self) -> None:
        for name in ("spacing_hz", "guard_2a_b_hz", "guard_a_b_c_hz", "guard_3a_2b_hz"):
            value = getattr(self, name)
            if value < 0:
                raise ValueError(f"{name} {value} is negative; 0 Hz or more is allowed")

    def covers(self, other: GuardSet) -> bool:
        """Say whether every distance is at least that of another set."""
        return (
            self.spacing_hz >= other.spacing_hz
            and self.guard_2a_b_hz >= other.guard_2a_b_hz
            and self.guard_a_b_c_hz >= other.guard_a_b_c_hz
            and self.guard_3a_2b_hz >= other.guard_3a_2b_hz
        )


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class PlacedCarrier:
    """A carrier that is on the air: a source of products, and a victim by its own guards.

    Attributes
    ----------
    frequency_hz : int
        Carrier centre [Hz].
    guards : GuardSet
        All zero for a carrier that nobody protects.
    source : bool
        False for a receiver to be protected whose transmitter makes no products that we know,
        for example the middle of a block.
    group : int
        Its group in the stop's :class:`planner.coordination.company.Company`.
    """

    frequency_hz: int
    guards: GuardSet
    source: bool = True
    group: int = 0


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Grid:
    """Carrier centres that may be used: a raster inside closed windows.

    Attributes
    ----------
    origin_hz, step_hz : int
        Centres are ``origin_hz + k * step_hz``, k any whole number [Hz].
    windows_hz : tuple of (int, int)
        Closed spans of centres [Hz]; low equal to high is one centre; they may overlap.

    Raises
    ------
    ValueError
        When the step is not above 0 or a window's low edge is above its high edge.
    """

    origin_hz: int
    step_hz: int
    windows_hz: tuple[tuple[int, int], ...]

    def __post_init__(self) -> None:
        if self.step_hz <= 0:
            raise ValueError(f"step_hz {self.step_hz} is not above 0 Hz")
        for low, high in self.windows_hz:
            if low > high:
                raise ValueError(f"window {low} to {high} Hz: low is above high")

    def points(self) -> NDArray[np.int64]:
        """Return the centres inside the windows, ascending, each once [Hz]."""
        runs = [
            np.arange(
                self.origin_hz + -((self.origin_hz - low) // self.step_hz) * self.step_hz,
                high + 1,
                self.step_hz,
                dtype=np.int64,
            )
            for low, high in self.windows_hz
        ]
        if not runs:
            return np.empty(0, dtype=np.int64)
        return np.unique(np.concatenate(runs))

    def outside(self, spans_hz: Iterable[tuple[int, int]]) -> Grid:
        """Return the grid without what lies inside some spans; their edges stay [Hz]."""
        windows = list(self.windows_hz)
        for low_hz, high_hz in spans_hz:
            windows = [
                part
                for low, high in windows
                for part in ((low, min(high, low_hz)), (max(low, high_hz), high))
                if part[0] <= part[1]
            ]
        return dataclasses.replace(self, windows_hz=tuple(dict.fromkeys(windows)))


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Chassis:
    """Receivers of several channels that share a span.

    Attributes
    ----------
    channels : int
        Channels of one receiver.
    span_hz : int
        Greatest distance of two carriers of one receiver [Hz].
    receivers : int
        How many receivers there are.
    """

    channels: int
    span_hz: int
    receivers: int


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Choice:
    """One tuning range that a need may use at a stop.

    Attributes
    ----------
    range_key : str
        Key of the catalogue row.
    guards : GuardSet
        Guards of its carriers.
    grid, spare_grid : Grid
        Centres every carrier may use, and further ones for spares.
    most : int or None
        Carriers there is gear for; None for any number.
    chassis : Chassis or None
        Receivers that its carriers must fit.
    """

    range_key: str
    guards: GuardSet
    grid: Grid
    spare_grid: Grid
    most: int | None = None
    chassis: Chassis | None = None


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Wish:
    """A carrier that a line, or a spare, would like to keep [Hz]."""

    range_key: str
    frequency_hz: int
    spare: bool = False


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Order:
    """What one need asks for at one stop.

    Attributes
    ----------
    name : str
        Name of the need.
    choices : tuple of Choice
        Ranges it may use, the preferred first.
    count, spares : int
        Lines and spares wanted, 0 or more.
    wishes : tuple of Wish
        Carriers to keep where they still stand, the most wanted first.
    limit : int or None
        A proven bound of its lines and spares, where one is known: no search goes on once it
        is reached. It must count centres for spares only no more often than spares are wanted,
        or a line could stay empty beside a spare.
    group : int
        Group of its carriers in the stop's company.
    links : int
        Links that each carrier for lines brings: many for a wideband block. A missing one weighs
        as much; a missing spare weighs 1.

    Raises
    ------
    ValueError
        When a count is negative or below 1 link, two choices have one key, or a wish is for none
        of them.
    """

    name: str
    choices: tuple[Choice, ...]
    count: int
    spares: int = 0
    wishes: tuple[Wish, ...] = ()
    limit: int | None = None
    group: int = 0
    links: int = 1

    def __post_init__(self) -> None:
        if self.count < 0 or self.spares < 0 or self.links < 1:
            raise ValueError(
                f"need {self.name}: count {self.count}, spares {self.spares}, links {self.links}; "
                "counts are 0 or more, links 1 or more"
            )
        keys = [choice.range_key for choice in self.choices]
        if len(set(keys)) < len(keys):
            raise ValueError(f"need {self.name}: two choices of one range in {keys}")
        for wish in self.wishes:
            if wish.range_key not in keys:
                raise ValueError(f"need {self.name}: wish for {wish.range_key!r}, not in {keys}")

    @property
    def least_lack(self) -> int:
        """What is proven to be missing, as :func:`planner.coordination.kernel.shortage` counts."""
        if self.limit is None:
            return 0
        missing = max(0, self.count + self.spares - self.limit)
        return min(missing, self.spares) + max(0, missing - self.spares) * self.links


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Chosen:
    """A carrier found; ``main`` where lines may stand [Hz]."""

    range_key: str
    frequency_hz: int
    main: bool


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Filled:
    """What one need got.

    Attributes
    ----------
    carriers : tuple of Chosen
        Ascending in frequency; not yet dealt to names.
    missing_lines, missing_spares : int
        Carriers not found.
    headroom : int or None
        Where asked for: further carriers that fit beside all needs when nothing of this one is
        missing, else the missing ones as a negative number.
    """

    name: str
    carriers: tuple[Chosen, ...]
    missing_lines: int
    missing_spares: int
    headroom: int | None = None

    @property
    def missing(self) -> int:
        """Lines and spares not found."""
        return self.missing_lines + self.missing_spares


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Coordination:
    """The carriers of one stop, all needs together.

    Attributes
    ----------
    filled : tuple of Filled
        One a need, in the order asked.
    steps : int
        Candidates put to the set during the search.
    """

    filled: tuple[Filled, ...]
    steps: int

    def missing(self, name: str) -> int:
        """Return how many lines and spares of a need were not found.

        Raises
        ------
        KeyError
            When no need has that name.
        """
        for need in self.filled:
            if need.name == name:
                return need.missing
        raise KeyError(name)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class FitCount:
    """How many carriers of one use fit.

    Attributes
    ----------
    carriers_hz : tuple of int
        New carriers in the grid itself, ascending [Hz].
    extra_hz : tuple of int
        Further ones in the extra grid, ascending [Hz].
    steps : int
        Candidates put to the set during the search.
    """

    carriers_hz: tuple[int, ...]
    extra_hz: tuple[int, ...]
    steps: int


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Violation:
    """Two carriers too close, or a product too close to a carrier.

    Attributes
    ----------
    kind : str
        ``"spacing"``, ``"2A-B"``, ``"A+B-C"`` or ``"3A-2B"``.
    victim_hz : int
        The carrier that suffers; for spacing the higher of the two [Hz].
    sources_hz : tuple of int
        A, B and, for A+B-C, C [Hz]; for spacing the lower carrier.
    product_hz : int
        Where the product falls [Hz]; for spacing the lower carrier.
    distance_hz, guard_hz : int
        Distance of product and victim, and the least one allowed [Hz].
    """

    kind: Kind
    victim_hz: int
    sources_hz: tuple[int, ...]
    product_hz: int
    distance_hz: int
    guard_hz: int

    @property
    def carriers_hz(self) -> tuple[int, ...]:
        """Every carrier that takes part: the victim, then the sources [Hz]."""
        return (self.victim_hz, *self.sources_hz)

    def line(self) -> str:
        """Return the violation as one line of text."""
        victim, where = format_mhz(self.victim_hz), format_mhz(self.product_hz)
        distance, guard = self.distance_hz / HZ_PER_KHZ, self.guard_hz / HZ_PER_KHZ
        if self.kind == "spacing":
            return f"{where} and {victim} MHz are {distance:g} kHz apart, {guard:g} kHz is needed"
        formula = product_formula(self.kind, self.sources_hz)
        return (
            f"{formula} = {where} MHz falls {distance:g} kHz from {victim} MHz, "
            f"{guard:g} kHz is needed"
        )


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NearestProduct:
    """The product nearest to a carrier among those its row protects against.

    Attributes
    ----------
    order : str
        ``"2A-B"``, ``"A+B-C"`` or ``"3A-2B"``.
    formula : str
        Written out in MHz, for example ``"2 x 512.350 - 511.925"``.
    offset_hz : int
        Product less carrier [Hz].
    """

    order: str
    formula: str
    offset_hz: int


def product_formula(kind: str, sources_hz: tuple[int, ...]) -> str:
    """Write a product out in MHz.

    Parameters
    ----------
    kind : str
        ``"2A-B"``, ``"A+B-C"`` or ``"3A-2B"``.
    sources_hz : tuple of int
        A, B and, for A+B-C, C [Hz].
    """
    mhz = [format_mhz(source) for source in sources_hz]
    if kind == "2A-B":
        return f"2 x {mhz[0]} - {mhz[1]}"
    if kind == "3A-2B":
        return f"3 x {mhz[0]} - 2 x {mhz[1]}"
    return f"{mhz[0]} + {mhz[1]} - {mhz[2]}"
