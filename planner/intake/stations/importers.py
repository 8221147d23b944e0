"""Readers of regulators' formats by name, and what each of them hands back."""

from __future__ import annotations

import dataclasses
import importlib
from typing import TYPE_CHECKING, Protocol, cast

from planner.errors import Fault, InputFaults
from planner.intake.faults import nearest_word

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from planner.intake.stations.companions import Curve
    from planner.records import Coverage

OWN_FORMAT = "passband"
MAPPED_FORMAT = "mapped"
"""Any delimited table, read by the columns that the user names."""
IMPORTERS: dict[str, str] = {
    "fcc-post-auction": "planner.intake.stations.fcc_post_auction",
    "ofcom": "planner.intake.stations.ofcom",
}
"""Format name to the module that reads it; loaded only when asked for."""
COMING_FORMATS = (
    "fcc-tvq",
    "fcc-lms",
    "fcc-cdbs",
    "ised",
    "acma",
    "acma-rrl",
    "anatel",
)

REPAIRED = "repaired"
REFUSED = "refused"
NOTED = "noted"


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Remark:
    """What an importer did with one row.

    Attributes
    ----------
    action : str
        ``"repaired"`` a figure was changed or the row switched off; ``"refused"`` the row was
        not taken; ``"noted"`` nothing was changed, but a reader should know.
    kind : str
        Short word under which remarks are counted.
    row_number : int
        Line of the file; the header is row 1.
    station_id : str
        Id in the table written, empty when the row was refused.
    column, value, text : str
        Column and cell of the source, and what was done in words.
    """

    action: str
    kind: str
    row_number: int
    station_id: str = ""
    column: str = ""
    value: str = ""
    text: str = ""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class ImportedTable:
    """Rows ready to be written as a station table.

    Attributes
    ----------
    rows : tuple of mapping of str to str
        Cells by station table column, one a transmitter, in the source's order.
    coverage : Coverage or None
        For the sidecar; None when the source says nothing.
    remarks : tuple of Remark
        By row.
    rows_read : int
        Transmitters in the source.
    extra_columns : tuple of str
        Columns outside the contract that are kept.
    patterns : mapping of str to Curve
        Relative field by pattern name, for the companion table.
    haats : mapping of str to Curve
        Height above average terrain [m] by station id, for the companion table.
    """

    rows: tuple[Mapping[str, str], ...]
    coverage: Coverage | None
    remarks: tuple[Remark, ...] = ()
    rows_read: int
    extra_columns: tuple[str, ...] = ()
    patterns: Mapping[str, Curve] = dataclasses.field(default_factory=dict)
    haats: Mapping[str, Curve] = dataclasses.field(default_factory=dict)

    def count(self, action: str) -> int:
        """Return how many rows have at least one remark of an action."""
        return len({remark.row_number for remark in self.remarks if remark.action == action})


class Importer(Protocol):
    """A module that reads one format."""

    def read(self, path: Path, *, name: str = "") -> ImportedTable:
        """Read a file; raise InputFaults when it is not of this format at all."""


def importer(format_name: str) -> Importer:
    """Return the reader of a format.

    Parameters
    ----------
    format_name : str
        A key of :data:`IMPORTERS`.

    Raises
    ------
    InputFaults
        One line when the name is unknown or belongs to a format that this version cannot read.
    """
    known = (OWN_FORMAT, *IMPORTERS, MAPPED_FORMAT)
    if format_name in IMPORTERS:
        return cast("Importer", importlib.import_module(IMPORTERS[format_name]))
    if format_name in COMING_FORMATS:
        advice = "that format is named for a later version; write the rows as a passband table"
    else:
        near = nearest_word(format_name, (*known, *COMING_FORMATS))
        advice = f'did you mean "{near}"?' if near else "use one of these names"
    fault = Fault(
        file="command line",
        where="--from",
        value=format_name,
        allowed=" / ".join(known),
        advice=advice,
    )
    raise InputFaults([fault])
