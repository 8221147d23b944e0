"""The linear assignment problem: each row one column, at the least total cost."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_NONE = -1


def assign(table: Sequence[Sequence[float]]) -> tuple[int, ...]:
    """Return the column of each row in a pairing of least total cost, -1 for a row without one.

    As many pairs as the shorter side has members. The same table gives the same pairing, on
    every machine: all sums are taken in one order.

    Parameters
    ----------
    table : sequence of sequence of float
        Cost of each pair, shape (rows, columns), finite. Whole numbers below 2^53 in all sums
        keep the answer exact.

    Notes
    -----
    Rows enter one by one. For each the cheapest chain of exchanges to a column still free is
    found by Dijkstra's method on reduced costs, and the prices of rows and columns are moved
    so that no reduced cost falls below nil: the method of shortest augmenting paths, without
    first guesses. Time grows with rows x rows x columns; 20 x 20 takes about a millisecond.

    References
    ----------
    R. Jonker, A. Volgenant: A shortest augmenting path algorithm for dense and sparse linear
    assignment problems, Computing 38 (1987). D. F. Crouse: On implementing 2D rectangular
    assignment algorithms, IEEE Transactions on Aerospace and Electronic Systems 52 (2016).
    """
    if not table or not table[0]:
        return (_NONE,) * len(table)
    if len(table) <= len(table[0]):
        return tuple(_Pairing(table).holds)
    answer = [_NONE] * len(table)
    for column, row in enumerate(_Pairing(list(zip(*table, strict=True))).holds):
        answer[row] = column
    return tuple(answer)


class _Pairing:
    """Rows paired with columns, no more rows than columns; ``holds`` is each row's column."""

    def __init__(self, table: Sequence[Sequence[float]]) -> None:
        self._table = table
        self._columns = len(table[0])
        self._row_price = [0.0] * len(table)
        self._column_price = [0.0] * self._columns
        self._held_by = [_NONE] * self._columns
        self.holds = [_NONE] * len(table)
        for row in range(len(table)):
            self._enter(row)

    def _enter(self, row: int) -> None:
        """Give a row a column, by the cheapest chain of exchanges."""
        settled, cost_to, came_from = self._chain(row)
        column = settled.pop()
        total = cost_to[column]
        self._row_price[row] += total
        for between in settled:
            gain = total - cost_to[between]
            self._row_price[self._held_by[between]] += gain
            self._column_price[between] -= gain
        taker = _NONE
        while taker != row:
            taker = came_from[column]
            self._held_by[column] = taker
            column, self.holds[taker] = self.holds[taker], column

    def _chain(self, row: int) -> tuple[list[int], list[float], list[int]]:
        """Return the columns settled, a free one last, their costs, and the rows before them."""
        cost_to, came_from = [math.inf] * self._columns, [_NONE] * self._columns
        waiting = list(range(self._columns - 1, -1, -1))
        settled: list[int] = []
        so_far = 0.0
        while row != _NONE:
            costs, so_far = self._table[row], so_far - self._row_price[row]
            least, at = math.inf, 0
            for place, column in enumerate(waiting):
                here = so_far + costs[column] - self._column_price[column]
                if here < cost_to[column]:
                    cost_to[column], came_from[column] = here, row
                here = cost_to[column]
                # of columns equally cheap a free one ends the chain soonest
                if here < least or (here == least and self._held_by[column] == _NONE):
                    least, at = here, place
            settled.append(waiting[at])
            waiting[at] = waiting[-1]
            waiting.pop()
            so_far, row = least, self._held_by[settled[-1]]
        return settled, cost_to, came_from
