"""Linear programmes, solved by a library (HiGHS, dual simplex)."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

Row = tuple[dict[int, float], float]
"""Factors by column, and the total that their sum must not exceed, or must equal."""

_SETTINGS = {"output_flag": False, "solver": "simplex", "simplex_strategy": 1, "parallel": "off"}
"""Silent, serial dual simplex: it ends in a corner, and in the same one each time."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Corner:
    """A corner of least cost.

    Attributes
    ----------
    cost : float
        The least cost, to within the solver's rounding.
    values : tuple of float
        One a column.
    """

    cost: float
    values: tuple[float, ...]


def least_corner(
    cost: Sequence[float],
    *,
    at_most: Sequence[Row],
    equal: Sequence[Row],
    bounds: Sequence[tuple[float, float | None]],
) -> Corner | None:
    """Return a corner of least cost, None where the solver proves none (nothing meets all rows).

    Parameters
    ----------
    cost : sequence of float
        Cost of each column.
    at_most, equal : sequence of Row
        What must hold.
    bounds : sequence of (float, float or None)
        Least and greatest value of each column.

    Notes
    -----
    The same programme gives the same corner.

    References
    ----------
    Q. Huangfu, J. A. J. Hall: Parallelizing the dual revised simplex method, Mathematical
    Programming Computation 10 (2018), the method of HiGHS.
    """
    import highspy

    rows = [*at_most, *equal]
    totals = np.array([total for _, total in rows], dtype=np.float64)
    floors = totals.copy()
    floors[: len(at_most)] = -math.inf
    starts, columns, factors = _by_row(rows)
    library: Any = highspy
    # the wrapper's own class prints a banner before it can be silenced
    solver = getattr(library, "_Highs", library.Highs)()
    for name, value in _SETTINGS.items():
        solver.setOptionValue(name, value)
    solver.passModel(
        len(cost),
        len(rows),
        len(factors),
        library.MatrixFormat.kRowwise.value,
        library.ObjSense.kMinimize.value,
        0.0,
        np.array(cost, dtype=np.float64),
        np.array([low for low, _ in bounds], dtype=np.float64),
        np.array([math.inf if high is None else high for _, high in bounds], dtype=np.float64),
        floors,
        totals,
        starts,
        columns,
        factors,
        np.zeros(len(cost), dtype=np.int32),
    )
    solver.run()
    if solver.getModelStatus() != library.HighsModelStatus.kOptimal:
        return None
    return Corner(
        cost=float(solver.getObjectiveValue()), values=tuple(solver.getSolution().col_value)
    )


def _by_row(
    rows: Sequence[Row],
) -> tuple[NDArray[np.int32], NDArray[np.int32], NDArray[np.float64]]:
    """Return where each row starts, and the columns and factors of all rows end to end."""
    sizes = [len(row) for row, _ in rows]
    starts = np.concatenate(([0], np.cumsum(sizes))).astype(np.int32)
    columns = np.array([number for row, _ in rows for number in row], dtype=np.int32)
    factors = np.array([factor for row, _ in rows for factor in row.values()], dtype=np.float64)
    return starts, columns, factors
