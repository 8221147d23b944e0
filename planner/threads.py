"""Independent work side by side: one thread a core, the answers in order.

The compiled searches let go of Python's lock while they run, so threads of one process use all
cores without handing any data over. What is asked and what is answered do not hang on how many
threads there are.
"""

from __future__ import annotations

import functools
import os
import threading
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

Item = TypeVar("Item")
Answer = TypeVar("Answer")

MOST_THREADS = 4
"""Beyond this the parts that hold Python's lock leave nothing to win."""

_here = threading.local()


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def side_by_side(work: Callable[[Item], Answer], items: Iterable[Item]) -> list[Answer]:
    """Return ``work(item)`` of every item, in order.

    Parameters
    ----------
    work : callable
        Must not change anything that the work on another item reads. Work that is itself done side
        by side does its own parts one after the other.
    items : iterable
        What is worked on.

    Raises
    ------
    Exception
        What the work on the first item that failed raised.
    """
    asked = list(items)
    threads = min(cores(), MOST_THREADS, len(asked))
    if threads < 2 or getattr(_here, "busy", False):
        return [work(item) for item in asked]
    return list(_pool().map(work, asked))


@functools.cache
def _pool() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(min(cores(), MOST_THREADS), initializer=_enter)


def _enter() -> None:
    _here.busy = True
