"""Station tables: our own format, regulators' formats, and the coverage sidecar."""

from planner.intake.stations.loading import load_station_tables

__all__ = ["load_station_tables"]
