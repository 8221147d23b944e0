"""Read an earlier plan.json."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math
from typing import TYPE_CHECKING, Any

from planner import __version__
from planner.cli.plan_shape import PLAN_SHAPE, misfit
from planner.errors import Fault, InputFaults
from planner.units import mhz_to_hz

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from planner.plan import InputFile

_SCHEMA = "passband-plan/1"
_MOST_ISSUES = 1_000_000


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class EarlierPlan:
    """An earlier plan and its checksum."""

    name: str
    sha256: str
    document: dict[str, Any]

    def made_from(self, inputs: Sequence[InputFile], *, effort: str) -> bool:
        """Say whether this very version made the plan from the same bytes with the same effort."""
        made = self.document["made"]
        before = {
            (row["file"], row["sha256"])
            for row in self.document["inputs"]
            if row["file"] != self.name
        }
        return (
            before == {(row.file, row.sha256) for row in inputs}
            and made["version"] == __version__
            and made["effort"] == effort
        )


def is_plan(path: Path) -> bool:
    """Say whether a file is a whole plan of this schema."""
    return plan_in(path) is not None


def plan_in(path: Path) -> EarlierPlan | None:
    """Return the plan in a file, None where there is no whole plan of this schema."""
    try:
        return read_previous(path)
    except InputFaults:
        return None


def read_previous(
    path: Path, *, advice: str = "name a plan.json that passband wrote, or use --fresh"
) -> EarlierPlan:
    """Return an earlier plan.

    Parameters
    ----------
    path : Path
        A plan.json.
    advice : str
        What to do where it cannot be read.

    Raises
    ------
    InputFaults
        When the file is missing, is not JSON or not a plan of this schema.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise InputFaults(
            [Fault(file=str(path), value=error.strerror or "cannot be read", advice=advice)]
        ) from error
    try:
        document = json.loads(raw)
    except (ValueError, RecursionError) as error:
        raise InputFaults(
            [Fault(file=str(path), value="text that is not JSON", advice=advice)]
        ) from error
    if not isinstance(document, dict) or document.get("schema") != _SCHEMA or not _whole(document):
        raise InputFaults(
            [
                Fault(
                    file=str(path),
                    value="JSON that is no whole plan",
                    allowed=f"schema {_SCHEMA}",
                    advice=advice,
                )
            ]
        )
    return EarlierPlan(name=path.name, sha256=hashlib.sha256(raw).hexdigest(), document=document)


def _whole(document: dict[str, Any]) -> bool:
    """Say whether what this version reads of an earlier plan is there, and of the right kind."""
    try:
        made = document["made"]
        return (
            _is_issue(made["issue"])
            and (made["replaces"] is None or _is_issue(made["replaces"]))
            and all(isinstance(made[key], str) for key in ("version", "effort"))
            and all(
                isinstance(row[key], str)
                for row in document["inputs"]
                for key in ("file", "sha256")
            )
            and all(_is_stop(stop) for stop in document["stops"])
        )
    except (KeyError, TypeError, ValueError, AttributeError, ArithmeticError):
        return False


def _is_issue(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= _MOST_ISSUES


def _is_stop(stop: dict[str, Any]) -> bool:
    return (
        isinstance(stop["country"], str)
        and all(math.isfinite(stop[key]) for key in ("lat_deg", "lon_deg"))
        and all(
            isinstance(row["name"], str)
            and isinstance(row["fixed"], bool)
            and isinstance(row["other"], bool)
            and (isinstance(row["range"], str) or row["other"])
            and isinstance(row["power_mw"], int | float | None)
            and (row["need"] is None or isinstance(row["need"], str))
            and mhz_to_hz(row["frequency_mhz"]) > 0
            for row in stop["carriers"]
        )
        and all(
            isinstance(row["need"], str) and isinstance(row["missing"], int)
            for row in stop["short"]
        )
    )


def read_to_compare(path: Path) -> EarlierPlan:
    """Return a plan, given as a file or as the folder that holds it, with all that compare reads.

    Raises
    ------
    InputFaults
        As :func:`read_previous`, and when a part that is compared is of another kind.
    """
    file = path / "plan.json" if path.is_dir() else path
    advice = "name a plan.json that passband wrote, or its folder"
    plan = read_previous(file, advice=advice)
    wrong = misfit(plan.document, PLAN_SHAPE)
    if wrong:
        raise InputFaults(
            [
                Fault(
                    file=str(file),
                    where=wrong,
                    value="something of another kind, or nothing",
                    allowed=f"schema {_SCHEMA}",
                    advice=advice,
                )
            ]
        )
    return plan
