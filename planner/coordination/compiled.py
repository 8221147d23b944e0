"""Compile the search kernel where numba can be imported; run it as plain Python elsewhere."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable

Function = TypeVar("Function", bound="Callable[..., object]")


def compiled(function: Function) -> Function:
    """Return a function compiled on its first call, or as it is where numba is missing.

    The plain function stays reachable as ``py_func`` of a compiled one. Both give the same
    numbers: the kernel computes with whole numbers only.
    """
    return _compiled(function)


def inlined(function: Function) -> Function:
    """Return a function as :func:`compiled` does, made part of those that call it.

    For the innermost steps: handing over their arrays would cost more than what they do.
    """
    return _compiled(function, forceinline=True)


def _compiled(function: Function, **more: bool) -> Function:
    try:
        import numba
    except ImportError:  # pragma: no cover - numba is a dependency; platforms may lack a wheel
        return function
    options: dict[str, Any] = {"cache": True, "nogil": True, **more}
    decorate: Any = numba.njit(**options)
    decorated: Function = decorate(function)
    return decorated
