"""Memory of a run: a plan builds millions of values that live to its end, and hardly a ring."""

from __future__ import annotations

import atexit
import contextlib
import gc
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@contextlib.contextmanager
def without_collector() -> Iterator[None]:
    """Rest the search for rings of references while a command runs; it is taken up after.

    Values that nothing refers to are freed at once, as ever. Over 30 stops the search costs a
    tenth of the time and frees less than 1 % of the memory.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def leave_at_once() -> None:
    """Spare the end of the process the last search for rings: its memory is given back whole.

    After a plan of 30 stops that search takes half a second.
    """
    atexit.register(gc.freeze)
