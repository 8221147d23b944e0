"""A foreign table of antenna patterns into our companion: dB to relative field, peaks to 1."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults
from planner.intake.faults import nearest_word
from planner.intake.stations.companions import AZIMUTH_DEG, LEAST_MAXIMUM, PATTERN_COLUMNS
from planner.intake.stations.delimited import loose_number, read_delimited
from planner.intake.stations.importers import NOTED, REFUSED, REPAIRED, Remark

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from planner.intake.stations.companions import Curve

_LEAST_POINTS = 2
_FULL_CIRCLE_DEG = 360.0


def read_foreign_patterns(
    path: Path, columns: Mapping[str, str]
) -> tuple[dict[str, Curve], list[Remark]]:
    """Read a foreign pattern table.

    Parameters
    ----------
    path : Path
        Delimited text with a header.
    columns : mapping of str to str
        Our column to theirs; ours where left out.

    Returns
    -------
    curves : dict of str to Curve
        Relative field by pattern name.
    remarks : list of Remark
        Rows refused, patterns repaired or dropped. A pattern with values below 0 is in dB; one
        whose peak is above 1 is divided by it; one whose peak is below 0.5, or with one point,
        is broken and dropped: its stations count as non-directional then. A peak between 0.5 and
        1 stays as it is: registers print a point every 10 degrees and the peak may lie between.

    Raises
    ------
    InputFaults
        When a column is not there.
    """
    table = read_delimited(path, what="pattern table")
    theirs = {name: columns.get(name, name) for name in PATTERN_COLUMNS}
    missing = [
        Fault(
            file=table.file,
            where="row 1",
            value=f"no column {column} for {name}",
            allowed=", ".join(table.header),
            advice=f'give --pattern-map {name}="{nearest_word(column, table.positions)}"'
            if nearest_word(column, table.positions)
            else f"give --pattern-map {name}=THEIRS",
        )
        for name, column in theirs.items()
        if column not in table.positions
    ]
    if missing:
        raise InputFaults(missing)
    remarks: list[Remark] = []
    points: dict[str, dict[float, float]] = {}
    rows: dict[str, int] = {}
    for row in table.rows():
        name = row.text(theirs["pattern"])
        azimuth_deg = loose_number(row.text(theirs["azimuth_deg"]), "deg")
        value = loose_number(row.text(theirs["relative_field"]), "dB")
        if not name or value is None or azimuth_deg is None or not AZIMUTH_DEG.holds(azimuth_deg):
            text = f"a name, an azimuth ({AZIMUTH_DEG.text()}) and a relative field are needed"
            remarks.append(_remark(REFUSED, "pattern-point", row.number_in_file, name, text))
            continue
        rows.setdefault(name, row.number_in_file)
        mine = points.setdefault(name, {})
        before = mine.setdefault(azimuth_deg % _FULL_CIRCLE_DEG, value)
        if before != value:
            mine[azimuth_deg % _FULL_CIRCLE_DEG] = max(before, value)
            text = f"azimuth {azimuth_deg:g} deg twice: the greater value is taken"
            remarks.append(_remark(REPAIRED, "pattern-twice", row.number_in_file, name, text))
    curves: dict[str, Curve] = {}
    for name, mine in points.items():
        action, kind, text, scaled = _repaired(mine)
        if text:
            remarks.append(_remark(action, kind, rows[name], name, text))
        if scaled:
            curves[name] = tuple(sorted(scaled.items()))
    return curves, remarks


def _repaired(points: Mapping[float, float]) -> tuple[str, str, str, dict[float, float]]:
    """Return what was done, and the points as relative field; none when the pattern is broken."""
    action, kind, text, found = "", "", "", dict(points)
    if min(found.values()) < 0:
        found = {azimuth: 10 ** (value / 20) for azimuth, value in found.items()}
        action, kind, text = REPAIRED, "pattern-db", "values in dB turned into relative field"
    greatest = max(found.values())
    if len(found) < _LEAST_POINTS or greatest < LEAST_MAXIMUM:
        text = (
            f"broken: {len(found)} points, nowhere more than {greatest:.3g}; its stations are "
            "taken as non-directional"
        )
        return REPAIRED, "pattern-broken", text, {}
    if greatest > 1:
        found = {azimuth: value / greatest for azimuth, value in found.items()}
        return REPAIRED, "pattern-above-1", f"{text} divided by {greatest:.4g}".strip(), found
    if greatest < 1 and not text:
        return NOTED, "pattern-below-1", f"its greatest point is {greatest:g}; kept", found
    return action, kind, text, found


def _remark(action: str, kind: str, row_number: int, name: str, text: str) -> Remark:
    return Remark(
        action=action,
        kind=kind,
        row_number=row_number,
        column="pattern",
        value=name,
        text=f"pattern table: {text}",
    )
