"""Independent work side by side, the answers in order, the same ones on any number of cores.

The compiled searches let go of Python's lock while they run, so that threads of one process can
share them (:func:`side_by_side`). Work that is mostly Python is shared with a second process
(:func:`shared_out`), once somebody found that worth its start (:func:`start_helper`).
"""

from __future__ import annotations

import functools
import importlib
import os
import threading
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

Item = TypeVar("Item")
Answer = TypeVar("Answer")

MOST_THREADS = 4
"""Beyond this the parts that hold Python's lock leave nothing to win."""
NO_HELPER = (OSError, BrokenProcessPool)
"""What a second process that cannot start, or has died, raises."""

_here = threading.local()
_helpers: list[ProcessPoolExecutor] = []


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def side_by_side(work: Callable[[Item], Answer], items: Iterable[Item]) -> list[Answer]:
    """Return ``work(item)`` of every item, in order; done by threads where there are cores.

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
    if min(cores(), len(asked)) < 2 or getattr(_here, "busy", False):
        return [work(item) for item in asked]
    return list(_threads().map(work, asked))


def start_helper(modules: Sequence[str] = ()) -> None:
    """Start a second process, where there is a core for it and none was started yet.

    Parameters
    ----------
    modules : sequence of str
        What it should import meanwhile.
    """
    if _helpers or cores() < 2:
        return
    try:
        started = ProcessPoolExecutor(1, mp_context=get_context("spawn"))
        started.submit(_import_all, tuple(modules))
    except NO_HELPER:
        return  # no second process here: this one does it all
    _helpers.append(started)


def helper() -> ProcessPoolExecutor | None:
    """Return the second process, None where none was started; it may turn out to be dead."""
    return _helpers[0] if _helpers else None


def dismiss_helper() -> None:
    """End the second process, if there is one."""
    while _helpers:
        _helpers.pop().shutdown()


def shared_out(work: Callable[[Item], Answer], items: Iterable[Item]) -> list[Answer]:
    """Return ``work(item)`` of every item, in order; every other one by the helper, if there is.

    Parameters
    ----------
    work : callable
        A function of a module, that hangs on nothing but the item.
    items : iterable
        What is worked on; handed over by pickling.

    Raises
    ------
    Exception
        What the work raised.
    """
    asked, second = list(items), helper()
    if second is None or len(asked) < 2:
        return [work(item) for item in asked]
    try:
        theirs = second.submit(_each, work, asked[1::2])
    except NO_HELPER:
        dismiss_helper()
        return [work(item) for item in asked]
    found: list[Answer] = [work(item) for item in asked[::2]]
    try:
        others = theirs.result()
    except NO_HELPER:
        dismiss_helper()
        others = _each(work, asked[1::2])
    for place, answer in enumerate(others):
        found.insert(2 * place + 1, answer)
    return found


def _each(work: Callable[[Item], Answer], items: Sequence[Item]) -> list[Answer]:
    return [work(item) for item in items]


def _import_all(modules: Sequence[str]) -> None:
    for name in modules:
        importlib.import_module(name)


@functools.cache
def _threads() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(min(cores(), MOST_THREADS), initializer=_enter)


def _enter() -> None:
    _here.busy = True
