"""The row of parts from an antenna to a receiver, with the gain of each at any frequency."""

from __future__ import annotations

import dataclasses
import itertools
import math
from typing import TYPE_CHECKING

import numpy as np

from planner.hookup.cables import MISMATCH_DB
from planner.hookup.cascade import Stage
from planner.hookup.trees import CASCADE, ideal_split_loss_db
from planner.records.hookup import CABLE, FILTER
from planner.units import HZ_PER_MHZ

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner.hookup.records import Arrangement
    from planner.records.hookup import HookupSpec, Part

    FloatColumn = npt.NDArray[np.float64]

CONNECTORS = "connectors"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Element:
    """One step of a branch.

    Attributes
    ----------
    label : str
        As the level budget prints it.
    part : Part or None
        None for connectors.
    flat_db : float
        Gain that does not depend on frequency [dB].
    length_m : float
        Of a cable [m].
    joined : int
        Like inputs that meet here.
    place : str
        ``"antenna"``, ``"run"`` or ``"rack"``: where it sits.
    node : int
        Index of the splitter in its tree, -1 for none.
    """

    label: str
    part: Part | None = None
    flat_db: float = 0.0
    length_m: float = 0.0
    joined: int = 1
    place: str = "rack"
    node: int = -1

    def gain_db(self, frequency_hz: FloatColumn) -> FloatColumn | float:
        """Return its gain at some frequencies [dB].

        Parameters
        ----------
        frequency_hz : (n,) float64
            Frequencies [Hz].

        Returns
        -------
        (n,) float64 or float
            One number where the gain is the same at every frequency.
        """
        part = self.part
        if part is None:
            return self.flat_db
        if part.kind == CABLE:
            mhz = frequency_hz / HZ_PER_MHZ
            loss = part.cable_a * np.sqrt(mhz) + part.cable_b * mhz
            return self.flat_db - loss * (self.length_m / 100.0)
        if part.kind == FILTER:
            return self.flat_db - filter_rejection_db(part, frequency_hz)
        return self.flat_db

    def gain_at_db(self, frequency_hz: float) -> float:
        """Return its gain at one frequency [dB]."""
        return float(np.ravel(self.gain_db(np.array([frequency_hz])))[0])

    @property
    def active(self) -> bool:
        """Whether it amplifies."""
        return self.part is not None and self.part.active

    def stage(self, frequency_hz: float) -> Stage:
        """Return it as a stage at one frequency."""
        gain = self.gain_at_db(frequency_hz)
        own = self.part.noise_figure_db if self.part is not None else None
        return Stage(
            part=self.label,
            gain_db=gain,
            noise_figure_db=-gain if own is None else own,
            oip3_dbm=_limit(self.part, "oip3_dbm"),
            p1db_dbm=_limit(self.part, "p1db_dbm"),
            joined=self.joined,
        )


def _limit(part: Part | None, name: str) -> float:
    value = None if part is None else getattr(part, name)
    return math.inf if value is None else float(value)


def filter_rejection_db(part: Part, frequency_hz: FloatColumn) -> FloatColumn:
    """Return what a filter takes off outside its band [dB], 0 inside.

    Parameters
    ----------
    part : Part
        With its band, ``rejection_db`` and ``skirt_hz``.
    frequency_hz : (n,) float64
        Frequencies [Hz].

    Notes
    -----
    A straight line from the edge of the band to the full rejection at ``skirt_hz``: a catalogue
    tells one point; real filters bend (our own simplification).
    """
    beyond = np.maximum(part.low_hz - frequency_hz, frequency_hz - part.high_hz)
    reached = np.clip(beyond / max(part.skirt_hz, 1), 0.0, 1.0)
    taken: FloatColumn = part.rejection_db * reached
    return taken


def branch_elements(
    arrangement: Arrangement,
    spec: HookupSpec,
    *,
    length_m: float,
    zones: int,
    path: Sequence[tuple[int, str]],
) -> list[Element]:
    """Return the steps from antenna output to receiver input.

    Parameters
    ----------
    arrangement : Arrangement
        The parts.
    spec : HookupSpec
        Connector loss and length of the leads in the rack.
    length_m : float
        Of the antenna cable [m].
    zones : int
        Antennas joined on this branch.
    path : sequence of (int, str)
        From :meth:`planner.hookup.trees.Tree.path`.
    """
    front = [part for part in (arrangement.filter, arrangement.amplifier) if part is not None]
    steps = [
        Element(label=part.name, part=part, flat_db=part.gain_db, place="antenna") for part in front
    ]
    cable = arrangement.cable
    steps.append(
        Element(
            label=f"{cable.name}, {length_m:g} m",
            part=cable,
            flat_db=cable.gain_db,
            length_m=length_m,
            place="run",
        )
    )
    at_rack = [
        part
        for part in (arrangement.inserter, arrangement.joiner, arrangement.attenuator)
        if part is not None
    ]
    line = [arrangement.antenna, *front, cable]
    steps.append(_connectors(line, spec, place="run"))
    for part in at_rack:
        joined = zones if part is arrangement.joiner else 1
        loss_db = part.gain_db
        steps.append(Element(label=part.name, part=part, flat_db=loss_db, joined=joined))
    nodes = arrangement.tree.nodes
    for index, port in path:
        part = nodes[index].part
        gain = part.cascade_gain_db if port == CASCADE else part.gain_db
        label = f"{part.name}, cascade port" if port == CASCADE else part.name
        steps.append(Element(label=label, part=part, flat_db=gain, node=index))
    if spec.patch_m and path and arrangement.lead is not None:
        # one from splitter to splitter, and one to the receiver
        lead, count = arrangement.lead, len(path)
        label = f"{lead.name} lead, {spec.patch_m:g} m"
        if count > 1:
            label = f"{count} x {label}"
        steps.append(Element(label=label, part=lead, length_m=count * spec.patch_m))
    inside = [cable, *at_rack, *(nodes[index].part for index, _ in path)]
    steps.append(_connectors(inside, spec, place="rack"))
    return steps


def _connectors(line: Sequence[Part], spec: HookupSpec, *, place: str) -> Element:
    """Return the mated pairs between parts in a row as one step; one pair after the last."""
    pairs = max(1, len(line) - (1 if place == "run" else 0))
    mismatches = sum(a.impedance_ohm != b.impedance_ohm for a, b in itertools.pairwise(line))
    loss_db = pairs * spec.connector_loss_db + mismatches * MISMATCH_DB
    words = f"{pairs} connector pair" + ("s" if pairs > 1 else "")
    if mismatches:
        words += f", {mismatches} junction{'s' if mismatches > 1 else ''} of 50 and 75 ohm"
    return Element(label=words, flat_db=-loss_db, place=place)


def noise_factor(elements: Sequence[Element], frequency_hz: FloatColumn) -> FloatColumn:
    """Return the noise factor of steps in a row at some frequencies.

    As :func:`planner.hookup.cascade.noise_figure_db`, over an array of frequencies [Hz].
    """
    factor, gain = np.ones_like(frequency_hz), np.ones_like(frequency_hz)
    for step in elements:
        step_gain = 10 ** (step.gain_db(frequency_hz) / 10)
        figure = step.part.noise_figure_db if step.part is not None else None
        own = 1 / step_gain - 1 if figure is None else 10 ** (figure / 10) - 1
        if step.joined > 1:
            own = own + (step.joined - 1) * np.maximum(0.0, factor * gain - 1)
        factor = factor + own / gain
        gain = gain * step_gain
    return factor


def total_gain_db(elements: Sequence[Element], frequency_hz: FloatColumn) -> FloatColumn:
    """Return the gain of steps in a row at some frequencies [dB]."""
    total = np.zeros_like(frequency_hz)
    for step in elements:
        total = total + step.gain_db(frequency_hz)
    return total


def joint_loss_db(part: Part, zones: int) -> float:
    """Return the loss of a joint of several antennas: at least that of an ideal splitter [dB]."""
    return max(-part.gain_db, ideal_split_loss_db(zones))
