"""The surface through gridded figures: closed forms and an independent one-variable twin."""

from __future__ import annotations

import numpy as np
import pytest

from planner.field_strength.akima import akima_surface, horner

X = np.array([0.0, 1.0, 2.5, 3.0, 5.0, 6.0])
Y = np.array([-1.0, 0.0, 2.0, 3.0])


def sampled() -> tuple[np.ndarray, np.ndarray]:
    generator = np.random.default_rng(11)
    return generator.uniform(-3.0, 9.0, 400), generator.uniform(-2.0, 4.0, 400)


def test_goes_through_every_figure() -> None:
    z = np.random.default_rng(5).uniform(-50.0, 50.0, (len(Y), len(X)))
    surface = akima_surface(X, Y, z)
    columns, rows = np.meshgrid(X, Y)
    got = surface.value(columns.ravel(), rows.ravel()).reshape(z.shape)
    assert np.abs(got - z).max() <= 1e-12  # rounding of figures up to 50


def test_a_plane_stays_a_plane_beyond_the_grid_too() -> None:
    z = 2.0 - 3.0 * X[None, :] + 0.5 * Y[:, None]
    x, y = sampled()
    got = akima_surface(X, Y, z).value(x, y)
    assert np.abs(got - (2.0 - 3.0 * x + 0.5 * y)).max() <= 1e-12


def test_a_product_of_straight_lines_is_kept() -> None:
    """The twist at a node of z = x y is 1."""
    x, y = sampled()
    got = akima_surface(X, Y, X[None, :] * Y[:, None]).value(x, y)
    assert np.abs(got - x * y).max() <= 1e-11


def test_a_parabola_on_even_nodes_is_kept() -> None:
    nodes = np.arange(6.0)
    z = np.tile(nodes**2, (4, 1))
    x = np.linspace(-1.0, 6.0, 101)
    got = akima_surface(nodes, Y, z).value(x, np.full(101, 1.3))
    assert np.abs(got - x**2).max() <= 1e-11


def one_variable(x: np.ndarray, z: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Akima 1970, written a second time, node by node; inside the grid only."""
    m = [(z[i + 1] - z[i]) / (x[i + 1] - x[i]) for i in range(len(x) - 1)]
    m = [3 * m[0] - 2 * m[1], 2 * m[0] - m[1], *m, 2 * m[-1] - m[-2], 3 * m[-1] - 2 * m[-2]]
    slopes = []
    for i in range(len(x)):
        left, right = abs(m[i + 3] - m[i + 2]), abs(m[i + 1] - m[i])
        both = left + right
        slopes.append(
            (left * m[i + 1] + right * m[i + 2]) / both if both else (m[i + 1] + m[i + 2]) / 2
        )
    result = []
    for point in points:
        i = min(int(np.searchsorted(x, point, side="right")) - 1, len(x) - 2)
        h, d = x[i + 1] - x[i], point - x[i]
        step = (z[i + 1] - z[i]) / h
        quadratic = (3 * step - 2 * slopes[i] - slopes[i + 1]) / h
        cubic = (slopes[i] + slopes[i + 1] - 2 * step) / h**2
        result.append(z[i] + slopes[i] * d + quadratic * d**2 + cubic * d**3)
    return np.array(result)


def test_along_a_line_of_nodes_it_is_the_one_variable_method() -> None:
    z = np.random.default_rng(6).uniform(-50.0, 50.0, (len(Y), len(X)))
    surface = akima_surface(X, Y, z)
    along = np.linspace(X[0], X[-1], 201)
    for row, y in enumerate(Y):
        got = surface.value(along, np.full(201, y))
        assert np.abs(got - one_variable(X, z[row], along)).max() <= 1e-11
    upward = np.linspace(Y[0], Y[-1], 201)
    for column, x in enumerate(X):
        got = surface.value(np.full(201, x), upward)
        assert np.abs(got - one_variable(Y, z[:, column], upward)).max() <= 1e-11


def test_axes_are_alike() -> None:
    z = np.random.default_rng(8).uniform(-5.0, 5.0, (len(Y), len(X)))
    x, y = sampled()
    got = akima_surface(X, Y, z).value(x, y)
    turned = akima_surface(Y, X, z.T.copy()).value(y, x)
    assert np.abs(got - turned).max() <= 1e-11


def test_no_step_and_no_kink_between_cells() -> None:
    z = np.random.default_rng(9).uniform(-5.0, 5.0, (len(Y), len(X)))
    surface = akima_surface(X, Y, z)
    y = np.linspace(-0.9, 2.9, 50)
    width = 1e-6
    for x in X[1:-1]:
        left, at, right = (
            surface.value(np.full(50, x + shift), y) for shift in (-width, 0.0, width)
        )
        # A step or a kink of slope would show as first order in the width; bends are second.
        assert np.abs(left - 2 * at + right).max() <= 1e-9


def test_rounding_does_not_decide_a_tie() -> None:
    """On a straight stretch beside a bend both slopes weigh alike, whatever the last bit says."""
    x = np.array([0.1 * step for step in range(9)])
    z = np.where(x < 0.45, 0.3 * x, 0.135 + 7.0 * (x - 0.45))
    rows = np.tile(z, (4, 1))
    noisy = rows * (1 + 1e-15 * np.random.default_rng(1).choice([-1, 1], rows.shape))
    points = np.linspace(0.0, 0.8, 161)
    exact = akima_surface(x, Y, rows).value(points, np.full(161, 1.0))
    got = akima_surface(x, Y, noisy).value(points, np.full(161, 1.0))
    assert np.abs(got - exact).max() <= 1e-12


def test_recut_is_the_same_surface() -> None:
    z = np.random.default_rng(10).uniform(-5.0, 5.0, (len(Y), len(X)))
    surface = akima_surface(X, Y, z)
    edges = np.array([0.25, 0.9, 1.0, 2.5, 2.75, 3.0, 3.5])
    again = surface.recut(edges)
    x = np.linspace(0.25, 3.5, 200)
    y = np.linspace(-1.0, 3.0, 200)
    assert np.abs(again.value(x, y) - surface.value(x, y)).max() <= 1e-12


def test_cut_along_x() -> None:
    z = np.random.default_rng(12).uniform(-5.0, 5.0, (len(Y), len(X)))
    surface = akima_surface(X, Y, z)
    y = np.array([-1.0, 0.3, 2.9])
    cubics = surface.along_x(y)
    assert cubics.shape == (3, len(X) + 3, 4)
    middle = (surface.x[:-1] + surface.x[1:]) / 2
    for row, height in enumerate(y):
        expected = surface.value(middle, np.full(len(middle), height))
        assert np.abs(horner(cubics[row], np.full(len(middle), 0.5)) - expected).max() <= 1e-11


def test_unknown_points_stay_unknown() -> None:
    surface = akima_surface(X, Y, X[None, :] * Y[:, None])
    got = surface.value(np.array([np.nan, 1.0]), np.array([1.0, np.nan]))
    assert np.isnan(got).all()


def test_a_surface_cannot_be_changed() -> None:
    surface = akima_surface(X, Y, X[None, :] * Y[:, None])
    with pytest.raises(ValueError, match="read-only"):
        surface.coefficients[0, 0, 0, 0] = 1.0
