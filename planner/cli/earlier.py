"""Read an earlier plan.json."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from typing import TYPE_CHECKING, Any

from planner import __version__
from planner.errors import Fault, InputFaults

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from planner.plan import InputFile

_SCHEMA = "passband-plan/1"


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
    try:
        read_previous(path)
    except InputFaults:
        return False
    return True


def read_previous(path: Path) -> EarlierPlan:
    """Return an earlier plan.

    Raises
    ------
    InputFaults
        When the file is missing, is not JSON or not a plan of this schema.
    """
    advice = "name a plan.json that passband wrote, or use --fresh"
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise InputFaults(
            [Fault(file=str(path), value=error.strerror or "cannot be read", advice=advice)]
        ) from error
    try:
        document = json.loads(raw)
    except ValueError as error:
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
        issue, replaces = document["made"]["issue"], document["made"]["replaces"]
        return (
            {"version", "effort"} <= document["made"].keys()
            and all({"file", "sha256"} <= row.keys() for row in document["inputs"])
            and isinstance(issue, int)
            and (replaces is None or isinstance(replaces, int))
            and all(
                isinstance(stop["country"], str)
                and isinstance(stop["lat_deg"], float | int)
                and isinstance(stop["lon_deg"], float | int)
                and all(
                    isinstance(row["name"], str)
                    and isinstance(row["frequency_mhz"], float | int)
                    and isinstance(row["fixed"], bool)
                    and "need" in row
                    for row in stop["carriers"]
                )
                for stop in document["stops"]
            )
        )
    except (KeyError, TypeError):
        return False
