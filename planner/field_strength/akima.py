"""Smooth surface through figures on a rectangular grid, by Akima's local method.

References
----------
H. Akima, "A method of bivariate interpolation and smooth surface fitting based on local
procedures", Communications of the ACM 17 (1974), pages 18-20 (published as ACM algorithm 474);
one variable: Journal of the ACM 17 (1970), pages 589-602. Written anew from the method, which
is recalled from memory and confirmed by the reference tests of the FCC curves.
"""

from __future__ import annotations

import dataclasses
from math import comb
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from planner.field_strength._numbers import FloatArray

_TIE = 1e-9
"""Differences of slope below this share of the steepest slope are rounding, not curvature."""
_CHUNK = 32_768
_FROM_HERMITE = np.array(
    [[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [-3.0, 3.0, -2.0, -1.0], [2.0, -2.0, 1.0, 1.0]]
)
"""Powers 0..3 on a unit cell from (value at 0, value at 1, slope at 0, slope at 1)."""


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class BicubicSurface:
    """Bicubic polynomials on the cells of a rectangular grid.

    Attributes
    ----------
    x, y : (nx + 1,), (ny + 1,) float64
        Edges of the cells, ascending. Beyond the outermost edges the outermost cell continues.
    coefficients : (ny, nx, 4, 4) float64
        ``[y cell, x cell, power of v, power of u]``, where u and v run from 0 to 1 over the cell.
    """

    x: FloatArray
    y: FloatArray
    coefficients: FloatArray

    def __post_init__(self) -> None:
        for array in (self.x, self.y, self.coefficients):
            array.setflags(write=False)

    def value(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return the height of the surface at points; NaN where a coordinate is NaN.

        Parameters
        ----------
        x, y : (n,) float64
            Points, in the units of the edges.

        Returns
        -------
        (n,) float64
        """
        result = np.empty(x.shape)
        for start in range(0, x.size, _CHUNK):
            part = slice(start, start + _CHUNK)
            i, u = _locate(self.x, x[part])
            j, v = _locate(self.y, y[part])
            across = horner(np.moveaxis(self.coefficients[j, i], 1, -1), v[:, None])
            result[part] = horner(across, u)
        return result

    def along_x(self, y: FloatArray) -> FloatArray:
        """Cut the surface at given y: one cubic in u for each cell of x.

        Parameters
        ----------
        y : (n,) float64

        Returns
        -------
        (n, nx, 4) float64
            Powers 0..3 of u.
        """
        j, v = _locate(self.y, y)
        powers = v[:, None] ** np.arange(4)
        cubics: FloatArray = np.einsum("nkvu,nv->nku", self.coefficients[j], powers)
        return cubics

    def recut(self, edges: FloatArray) -> BicubicSurface:
        """Write the same surface on other cells of x.

        Parameters
        ----------
        edges : (k + 1,) float64
            Edges of the new cells, ascending; each new cell lies inside one old cell.

        Returns
        -------
        BicubicSurface
        """
        i, _ = _locate(self.x, (edges[:-1] + edges[1:]) / 2)
        width = self.x[i + 1] - self.x[i]
        shift = (edges[:-1] - self.x[i]) / width
        scale = np.diff(edges) / width
        change = np.zeros((len(i), 4, 4))
        for power in range(4):
            for new in range(power + 1):
                change[:, power, new] = comb(power, new) * shift ** (power - new) * scale**new
        coefficients = np.einsum("jkvp,kpq->jkvq", self.coefficients[:, i], change)
        return BicubicSurface(x=edges.copy(), y=self.y.copy(), coefficients=coefficients)


def akima_surface(x: FloatArray, y: FloatArray, z: FloatArray) -> BicubicSurface:
    """Fit Akima's surface to figures on a rectangular grid.

    Parameters
    ----------
    x, y : (nx,), (ny,) float64
        Nodes, ascending, at least three each.
    z : (ny, nx) float64
        Figures at the nodes.

    Returns
    -------
    BicubicSurface
        Through every figure, with continuous slopes. On each side it has two cells more than the
        grid, the nearer of them as wide as the second cell from that side: there it goes on as a
        parabola.

    Notes
    -----
    The slope at a node is the mean of the slopes on its two sides, each weighted by how little the
    curve bends on its own side; where it bends on neither side, both weigh the same. "Neither" is
    judged with a tolerance, so that the result does not hang on the last bit of a difference.
    """
    x, z = _continue_by_parabola(x, z)
    y, turned = _continue_by_parabola(y, z.T)
    z = turned.T
    steps_x = _steps(x, z)
    steps_y = _steps(y, z.T).T
    twists = _steps(y, steps_x.T).T
    weights_x = _weights(steps_x)
    weights_y = [weight.T for weight in _weights(steps_y.T)]
    rows, columns = z.shape
    slope_x, slope_y, twist = np.zeros(z.shape), np.zeros(z.shape), np.zeros(z.shape)
    for a in (0, 1):
        right = slice(1 + a, 1 + a + columns)
        slope_x += weights_x[a] * steps_x[:, right]
        slope_y += weights_y[a] * steps_y[1 + a : 1 + a + rows]
        for b in (0, 1):
            up = slice(1 + b, 1 + b + rows)
            twist += weights_x[a] * weights_y[b] * twists[up, right]
    return _assemble(x, y, (z, slope_x, slope_y, twist))


def horner(coefficients: FloatArray, variable: FloatArray) -> FloatArray:
    """Return cubics with powers 0..3 on the last axis, each at its own point."""
    c = coefficients
    value: FloatArray = ((c[..., 3] * variable + c[..., 2]) * variable + c[..., 1]) * variable
    return value + c[..., 0]


def _locate(edges: FloatArray, points: FloatArray) -> tuple[npt.NDArray[np.intp], FloatArray]:
    """Find the cell of each point, and the point's place in it (0 to 1 inside)."""
    cell = np.clip(np.searchsorted(edges, points, side="right") - 1, 0, len(edges) - 2)
    return cell, (points - edges[cell]) / (edges[cell + 1] - edges[cell])


def _continued(steps: FloatArray) -> FloatArray:
    """Add two steps on each side that go on in a straight line."""
    first, second = steps[..., :1], steps[..., 1:2]
    last, before = steps[..., -1:], steps[..., -2:-1]
    return np.concatenate(
        [
            3 * first - 2 * second,
            2 * first - second,
            steps,
            2 * last - before,
            3 * last - 2 * before,
        ],
        axis=-1,
    )


def _steps(nodes: FloatArray, values: FloatArray) -> FloatArray:
    """Return slopes between neighbours on the last axis, two more on each side: n + 3 of them."""
    return _continued(np.diff(values, axis=-1) / np.diff(nodes))


def _weights(steps: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Weigh the slopes left and right of each node; each pair adds up to 1."""
    bend = np.abs(np.diff(steps, axis=-1))
    bend[bend < _TIE * np.abs(steps).max()] = 0.0
    left, right = bend[..., 2:], bend[..., :-2]
    neither = left + right == 0.0
    left, right = np.where(neither, 1.0, left), np.where(neither, 1.0, right)
    return left / (left + right), right / (left + right)


def _continue_by_parabola(nodes: FloatArray, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Add two nodes on each side of the last axis, on the parabola through the last three."""
    steps = _steps(nodes, values)
    width = np.diff(nodes)
    low_1, low_2 = nodes[0] - width[1], nodes[0] - width[1] - width[0]
    high_1, high_2 = nodes[-1] + width[-2], nodes[-1] + width[-2] + width[-1]
    below_1 = values[..., 0] - steps[..., 1] * width[1]
    below_2 = below_1 - steps[..., 0] * width[0]
    above_1 = values[..., -1] + steps[..., -2] * width[-2]
    above_2 = above_1 + steps[..., -1] * width[-1]
    sides = [np.stack(pair, axis=-1) for pair in ((below_2, below_1), (above_1, above_2))]
    return (
        np.concatenate([[low_2, low_1], nodes, [high_1, high_2]]),
        np.concatenate([sides[0], values, sides[1]], axis=-1),
    )


def _assemble(
    x: FloatArray, y: FloatArray, nodes: tuple[FloatArray, FloatArray, FloatArray, FloatArray]
) -> BicubicSurface:
    """Turn values, slopes and twists at the nodes into polynomials on the cells."""
    z, slope_x, slope_y, twist = nodes
    width, height = np.diff(x)[None, :], np.diff(y)[:, None]
    corners = np.empty((len(y) - 1, len(x) - 1, 4, 4))
    for b, up in enumerate((slice(None, -1), slice(1, None))):
        for a, right in enumerate((slice(None, -1), slice(1, None))):
            corners[..., b, a] = z[up, right]
            corners[..., b, 2 + a] = slope_x[up, right] * width
            corners[..., 2 + b, a] = slope_y[up, right] * height
            corners[..., 2 + b, 2 + a] = twist[up, right] * width * height
    coefficients = _FROM_HERMITE @ corners @ _FROM_HERMITE.T
    return BicubicSurface(x=x, y=y, coefficients=coefficients)
