"""What strong neighbours make of a span: the near part faint, the far part as it was."""

from __future__ import annotations

import dataclasses
import itertools
from typing import TYPE_CHECKING

import numpy as np

from planner.occupancy.records import FAINT, QUIET, AirSpan, Reason

if TYPE_CHECKING:
    from planner.occupancy.curve import InterferenceCurve
    from planner.records import StationTable

NEIGHBOUR = "neighbour"
"""Code of the reason that a transmitter of another channel gives."""
_LEAST_RISE_DB = 0.1


def with_neighbours(
    span: AirSpan, curve: InterferenceCurve, stations: StationTable, *, limit_db: float
) -> tuple[AirSpan, ...]:
    """Return a span judged by its own transmitters, cut where its neighbours pass the limit.

    Parameters
    ----------
    span : AirSpan
        Judged without neighbours.
    curve : InterferenceCurve
        All interference over the searched span.
    stations : StationTable
        Names.
    limit_db : float
        Noise rise from which a span is faint [dB].

    Returns
    -------
    tuple of AirSpan
        The span itself where no neighbour raises the noise; else its parts, quiet ones cut to
        whole cells of 100 kHz, rounded outward; a span that is not quiet stays whole. The figures
        are those of the worst and the best cell.
    """
    cells = curve.cells(span.low_hz, span.high_hz)
    beside_mw = curve.beside_mw[cells]
    if not (beside_mw != 0).any():  # NaN: a neighbour that is not computed
        return (span,)
    rises_db = curve.rise_db[cells]
    if span.air != QUIET:
        return (_with_figures(span, curve, stations, cells=cells),)
    faint = ~(rises_db < limit_db)
    cuts = [0, *(np.flatnonzero(faint[1:] != faint[:-1]) + 1).tolist(), len(faint)]
    found = []
    for first, last in itertools.pairwise(cuts):
        part = slice(cells.start + first, cells.start + last)
        piece = dataclasses.replace(
            span,
            low_hz=max(span.low_hz, int(curve.low_hz[part.start])),
            high_hz=min(span.high_hz, int(curve.high_hz[part.stop - 1])),
        )
        found.append(_with_figures(piece, curve, stations, cells=part, faint=bool(faint[first])))
    return tuple(found)


def _with_figures(
    span: AirSpan,
    curve: InterferenceCurve,
    stations: StationTable,
    *,
    cells: slice,
    faint: bool = False,
) -> AirSpan:
    rises_db = curve.rise_db[cells]
    worst = int(np.argmax(np.where(np.isnan(rises_db), np.inf, rises_db)))
    most_db = float(rises_db[worst])
    known = not np.isnan(rises_db).any()
    alone = curve.beside_mw[cells][worst] == 0 or (span.noise_rise_db or 0.0) >= most_db
    if not faint and known and alone:
        return dataclasses.replace(span, noise_rise_least_db=float(rises_db.min()))
    reason = _reason(curve, stations, cell=cells.start + worst, most_db=most_db, faint=faint)
    unlisted = span.noise_rise_db is None and span.air not in (QUIET, FAINT)
    return dataclasses.replace(
        span,
        air=FAINT if faint else span.air,
        noise_rise_db=most_db if known and not unlisted else None,
        noise_rise_least_db=float(rises_db.min()) if known and not unlisted else None,
        reasons=(reason, *span.reasons) if faint else (*span.reasons, reason),
    )


def _reason(
    curve: InterferenceCurve, stations: StationTable, *, cell: int, most_db: float, faint: bool
) -> Reason:
    """Name the neighbour that emits most into a cell."""
    found = curve.emitters
    station = int(found.station[curve.loudest[cell]])
    name = str(stations.name[station] or stations.station_id[station])
    where = f"{stations.low_hz[station] / 1e6:g}-{stations.high_hz[station] / 1e6:g} MHz"
    if np.isnan(most_db):
        text = f"the field of {name} on {where} is not computed; look first"
    else:
        verdict = "at or above the limit" if faint else "counted in"
        text = (
            f"emission beside the channel of {name} ({where}), at the limit of its mask: noise "
            f"rise up to {most_db:.1f} dB here with all others, {verdict}; how well a receiver "
            "keeps a strong neighbour out is not in it"
        )
    return Reason(code=NEIGHBOUR, text=text, station_id=str(stations.station_id[station]))
