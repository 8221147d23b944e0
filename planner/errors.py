"""The error family of the planner: one parent, facts as attributes."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class PlannerError(Exception):
    """Parent of every error the planner raises on purpose."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """One thing wrong with an input, worded for the person who wrote it.

    Parameters
    ----------
    file : str
        File name as the user gave it, or ``"command line"``.
    where : str
        Row and column of a table (``"row 12, column erp_kw"``) or key of a tour file
        (``"[[stop]] 3, lat"``); empty when the whole file is meant.
    value : str
        What came, as text; empty when something is missing.
    allowed : str
        What is allowed, with its unit.
    advice : str
        What to do next.
    """

    file: str
    where: str = ""
    value: str = ""
    allowed: str = ""
    advice: str = ""

    def line(self) -> str:
        """Return the fault as one line of text."""
        head = f"{self.file}: {self.where}" if self.where else self.file
        parts = [head]
        if self.value:
            parts.append(f"got {self.value}")
        if self.allowed:
            parts.append(f"allowed: {self.allowed}")
        if self.advice:
            parts.append(self.advice)
        return "; ".join(" ".join(part.split()) for part in parts)


class InputFaults(PlannerError):  # noqa: N818 - a list of faults, not one error
    """Every fault found in the user's input, all at once.

    Parameters
    ----------
    faults : iterable of Fault
        At least one.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(fault.line() for fault in self.faults))


class OutOfModelRange(PlannerError):  # noqa: N818 - names the condition
    """A figure outside the range in which a published model holds.

    Parameters
    ----------
    quantity : str
        Name with unit, e.g. ``"distance_km"``.
    value : float
        What came.
    low, high : float
        The range of the model, inclusive.
    """

    def __init__(self, quantity: str, value: float, low: float, high: float) -> None:
        self.quantity = quantity
        self.value = value
        self.low = low
        self.high = high
        super().__init__(
            f"{quantity} {value:g} is outside the model's range {low:g} to {high:g}; "
            "no figure is given there"
        )
