"""Words and limits of a stop that tour files, routes and the command line share."""

from __future__ import annotations

from planner.intake.cells import NumberRange

SETTINGS = ("indoor", "outdoor", "tent", "unknown")
ANTENNA_HEIGHT_M = NumberRange(low=1, high=30, unit="m")
"""Receiving antenna above ground."""
DEFAULT_ANTENNA_HEIGHT_M = 3.0
