"""Single-frequency networks that Ofcom's transmitter list tells in its notes."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

from planner.intake.stations.importers import NOTED, Remark

if TYPE_CHECKING:
    from collections.abc import Sequence

_SENTENCE = re.compile(
    r"SFN\s*(?:\((?P<before>\w+) multiplexes\))?\s*with\s+(?P<names>[^./(]+)"
    r"(?:\((?P<after>\w+) multiplexes\))?"
)
_SPLIT = re.compile(r"\s*,\s*|\s*&\s*|\s+and\s+")
_TAIL = re.compile(r"\s+from\s+.*$")


def partners(note: str) -> list[tuple[str, str]]:
    """Return the sites a note names, each with the multiplexes it is about.

    Parameters
    ----------
    note : str
        e.g. ``"SFN (PSB multiplexes) with A and B from 700 MHz clearance."``

    Returns
    -------
    list of (str, str)
        Start of the multiplexes' names (``"PSB"``, ``"COM"``; empty for all) and site.
    """
    found = []
    for match in _SENTENCE.finditer(note):
        scope = match["before"] or match["after"] or ""
        names = _TAIL.sub("", match["names"].strip())
        found += [(scope, name.strip()) for name in _SPLIT.split(names) if name.strip()]
    return found


def name_groups(rows: list[dict[str, str]], notes: Sequence[str]) -> list[Remark]:
    """Fill in ``group_id`` where a note names a partner that carries the same on one channel.

    Parameters
    ----------
    rows : list of dict
        Transmitters as written by the reader, ids ``gb-<site>-<multiplex>``; changed in place.
    notes : sequence of str
        Note of each row.

    Returns
    -------
    list of Remark
        A note for each partner that no row answers to.
    """
    by_site: dict[tuple[str, str, str], list[int]] = {}
    for index, row in enumerate(rows):
        by_site.setdefault(_carriage(row, row["name"]), []).append(index)
    sites = {name for name, _, _ in by_site}
    first_of = list(range(len(rows)))
    unknown: dict[tuple[str, str], Remark] = {}
    for index, (row, note) in enumerate(zip(rows, notes, strict=True)):
        named = [
            name for scope, name in partners(note) if _multiplex(row).startswith(scope.lower())
        ]
        for name in named:
            if name.casefold() not in sites:
                unknown.setdefault((row["name"], name), _unknown(row, name, note))
            for other in by_site.get(_carriage(row, name), ()):
                _unite(first_of, index, other)
    sizes = Counter(first_of)
    for row, first in zip(rows, first_of, strict=True):
        if sizes[first] > 1:
            row["group_id"] = rows[first]["station_id"]
    return list(unknown.values())


def _unite(first_of: list[int], one: int, other: int) -> None:
    """Give the members of two groups the lower of their two first rows."""
    low, high = sorted((first_of[one], first_of[other]))
    if low != high:
        first_of[:] = [low if first == high else first for first in first_of]


def _carriage(row: dict[str, str], site: str) -> tuple[str, str, str]:
    """Return what a partner of a row must be: that site, the same multiplex and channel."""
    return site.casefold(), _multiplex(row), row["low_mhz"]


def _multiplex(row: dict[str, str]) -> str:
    return row["station_id"].split("-")[2]


def _unknown(row: dict[str, str], name: str, note: str) -> Remark:
    match = re.search(r"row (\d+)", row["source"])
    return Remark(
        action=NOTED,
        kind="partner-unknown",
        row_number=int(match[1]) if match else 0,
        station_id=row["station_id"],
        column="Notes",
        value=note,
        text=f"no site is named {name}; the network is not united with it",
    )
