"""One writer at a time in a folder: a lock file from the start of a run to its end."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import platform
import secrets
import uuid
from pathlib import Path
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults

if TYPE_CHECKING:
    from collections.abc import Iterator

LOCK_FILE = ".passband.lock"


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the lock of a folder; the second run to start is refused.

    Parameters
    ----------
    folder : Path
        An existing folder.

    Raises
    ------
    InputFaults
        When another run holds the lock, or when a lock of another machine lies there.
    OSError
        When the folder cannot be written.

    Notes
    -----
    A lock names the machine, its boot, the process and the moment at which the process started.
    It is cleared where it names a process of this machine that runs no more: the machine was
    started anew since, no process has the number, or the process that has it started at another
    moment. What another machine locked, on a folder that both reach, is left to the user: nothing
    here can say whether that process runs. Looking, clearing and taking are one step for all
    processes of a machine, so that two that find a dead lock do not both take it.
    """
    lock = folder / LOCK_FILE
    text = _identity()
    with _step(folder) as alone:
        if _left_by_a_dead_run(lock, alone=alone):
            lock.unlink(missing_ok=True)
        try:
            handle = os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666)
        except FileExistsError as error:
            raise InputFaults([_refusal(lock)]) from error
        try:
            try:
                os.write(handle, text.encode())
                os.fsync(handle)
            finally:
                os.close(handle)
        except OSError:
            lock.unlink(missing_ok=True)
            raise
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            if lock.read_text(encoding="utf-8") == text:
                lock.unlink()


def _refusal(lock: Path) -> Fault:
    holder = _read(lock)
    who = f" (process {holder['process']} on {holder['host']})" if holder else ""
    return Fault(
        file=str(lock),
        value=f"another run is writing this folder{who}",
        advice="wait for it; if none is running, delete this file and start again",
    )


@contextlib.contextmanager
def _step(folder: Path) -> Iterator[bool]:
    """Keep other processes of this machine out for a moment; say whether that was possible.

    The kernel forgets this hold when the process ends, however it ends.
    """
    try:
        import fcntl
    except ImportError:  # where the system has none, no lock is ever cleared
        yield False
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        held = True
        try:
            fcntl.flock(handle, fcntl.LOCK_EX)
        except OSError:  # some network folders know no such hold
            held = False
        yield held
    finally:
        os.close(handle)


def _left_by_a_dead_run(lock: Path, *, alone: bool) -> bool:
    """Say whether a lock surely names no running process."""
    if not alone or not lock.is_file():
        return False
    if not lock.stat().st_size:
        return True  # its writer would still hold the step
    holder = _read(lock)
    if holder is None or holder["machine"] != _machine():
        return False
    return holder["boot"] != _boot() or not _runs(int(holder["process"]), holder["started"])


def _runs(process: int, started: str) -> bool:
    """Say whether a process of this machine runs; False only where that is sure."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return started == _started(process)


def _read(lock: Path) -> dict[str, str] | None:
    try:
        found = json.loads(lock.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    keys = ("machine", "boot", "process", "started", "host")
    if not isinstance(found, dict) or not all(isinstance(found.get(key), str) for key in keys):
        return None
    number = found["process"]
    return found if number.isascii() and number.isdigit() and int(number) > 0 else None


def _identity() -> str:
    return json.dumps(
        {
            "machine": _machine(),
            "boot": _boot(),
            "process": str(os.getpid()),
            "started": _started(os.getpid()),
            "host": platform.node(),
            "once": secrets.token_hex(8),
        }
    )


def _machine() -> str:
    """Return a word for this machine and, in a container, for what it sees of the processes."""
    space = ""
    with contextlib.suppress(OSError):
        space = os.readlink("/proc/self/ns/pid")  # noqa: PTH115 - no file, a name
    number = _text("/etc/machine-id") or f"{uuid.getnode():x}"
    parts = (platform.node(), number, space)
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:16]


def _boot() -> str:
    return _text("/proc/sys/kernel/random/boot_id")


def _started(process: int) -> str:
    """Return the moment at which a process started, in the kernel's count; empty where unknown."""
    fields = _text(f"/proc/{process}/stat").rpartition(")")[2].split()
    return fields[19] if len(fields) > 19 else ""


def _text(path: str) -> str:
    try:
        return Path(path).read_text(encoding="utf-8").strip()
    except (OSError, ValueError):
        return ""
