"""Linear programmes, solved by a library (scipy with HiGHS, dual simplex)."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

Row = tuple[dict[int, float], float]
"""Factors by column, and the total that their sum must not exceed, or must equal."""


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
    """Return a corner of least cost, None where nothing meets all rows.

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
    """
    from scipy.optimize import linprog

    solve: Any = linprog
    answer = solve(
        list(cost),
        A_ub=_matrix(at_most, len(cost)),
        b_ub=[total for _, total in at_most] or None,
        A_eq=_matrix(equal, len(cost)),
        b_eq=[total for _, total in equal] or None,
        bounds=list(bounds),
        method="highs-ds",
    )
    if answer.status != 0:
        return None
    return Corner(cost=float(answer.fun), values=tuple(answer.x.tolist()))


def _matrix(rows: Sequence[Row], columns: int) -> object:
    from scipy import sparse

    if not rows:
        return None
    make: Any = sparse.coo_matrix
    at = [place for place, (row, _) in enumerate(rows) for _ in row]
    column = [number for row, _ in rows for number in row]
    value = [factor for row, _ in rows for factor in row.values()]
    return make((value, (at, column)), shape=(len(rows), columns)).tocsr()
