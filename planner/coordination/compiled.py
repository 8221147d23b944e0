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
    try:
        import numba
    except ImportError:  # pragma: no cover - numba is a dependency; platforms may lack a wheel
        return function
    decorate: Any = numba.njit(cache=True, nogil=True)
    decorated: Function = decorate(function)
    return decorated
