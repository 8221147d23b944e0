"""Write a plan and its sheets: whole or not at all, plan.json last, one writer at a time."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.cli.earlier import is_plan
from planner.errors import Fault, InputFaults
from planner.plan import plan_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

PLAN_FILE = "plan.json"
_LOCK = ".passband.lock"
_STAGING = ".passband-writing-"
_MANIFEST = ".passband-files.json"


def write_bundle(folder: Path, document: Mapping[str, Any], texts: Mapping[str, str]) -> None:
    """Write plan.json and the rendered files under a folder.

    Parameters
    ----------
    folder : Path
        Made when missing.
    document : mapping
        The plan.
    texts : mapping of str to str
        Relative path to text.

    Raises
    ------
    InputFaults
        When the folder cannot be written, another run is writing it, or a file that no earlier
        run wrote - or that somebody changed since - stands where one would be written.

    Notes
    -----
    Everything is written under a hidden folder inside, then moved, plan.json last. Files that an
    earlier run wrote, and that nobody changed since, are replaced, or removed when the new plan
    has none of that name; all other files are left alone. A plan.json that is none is moved
    aside.
    """
    everything = {**texts, PLAN_FILE: plan_text(document)}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with _locked(folder):
            _refuse_foreign(folder, everything)
            staging = Path(tempfile.mkdtemp(prefix=_STAGING, dir=folder))
            try:
                _fill(staging, everything)
                _move(staging, folder, everything)
            finally:
                shutil.rmtree(staging, ignore_errors=True)
    except OSError as error:
        raise InputFaults(
            [
                Fault(
                    file=str(folder),
                    value=error.strerror or type(error).__name__,
                    allowed="a folder that can be written",
                    advice="name another folder with --out",
                )
            ]
        ) from error


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[None]:
    lock = folder / _LOCK
    if _left_by_a_dead_run(lock):
        lock.unlink(missing_ok=True)
    try:
        handle = os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY)
    except FileExistsError as error:
        raise InputFaults(
            [
                Fault(
                    file=str(lock),
                    value="another run is writing this folder",
                    advice="wait for it; if none is running, delete this file and start again",
                )
            ]
        ) from error
    try:
        os.write(handle, str(os.getpid()).encode())
        os.close(handle)
        for left in folder.glob(f"{_STAGING}*"):
            shutil.rmtree(left, ignore_errors=True)
        yield
    finally:
        lock.unlink(missing_ok=True)


def _left_by_a_dead_run(lock: Path) -> bool:
    """Say whether a lock names a process of this machine that no longer runs.

    Only where a process can be asked for without touching it (POSIX); elsewhere the user decides.
    """
    if os.name != "posix":
        return False
    try:
        process = int(lock.read_text(encoding="ascii"))
        os.kill(process, 0)
    except ProcessLookupError:
        return True
    except (OSError, ValueError, OverflowError):
        return False
    return False


def _refuse_foreign(folder: Path, texts: Mapping[str, str]) -> None:
    """Refuse to write over files that are not ours, all of them at once."""
    ours = _manifest(folder)
    faults = []
    for name in texts:
        target = folder / name
        if name == PLAN_FILE or not (target.exists() or target.is_symlink()):
            continue
        if not target.is_file() or _digest(target.read_bytes()) != ours.get(name):
            faults.append(
                Fault(
                    file=str(target),
                    value="a file that passband did not write, or that was changed since",
                    advice="move it away, or name another folder with --out",
                )
            )
    if faults:
        raise InputFaults(faults)


def _fill(staging: Path, texts: Mapping[str, str]) -> None:
    for name, text in texts.items():
        target = staging / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8", newline="")


def _move(staging: Path, folder: Path, texts: Mapping[str, str]) -> None:
    earlier = _manifest(folder)
    names = [name for name in texts if name != PLAN_FILE]
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (staging / name).replace(folder / name)
    for name, digest in earlier.items():
        old = folder / name
        if name not in texts and old.is_file() and _digest(old.read_bytes()) == digest:
            old.unlink()
    manifest = {name: _digest(texts[name].encode()) for name in sorted(texts)}
    (staging / _MANIFEST).write_text(json.dumps(manifest, indent=1), encoding="utf-8")
    (staging / _MANIFEST).replace(folder / _MANIFEST)
    plan = folder / PLAN_FILE
    if plan.is_file() and PLAN_FILE not in earlier and not is_plan(plan):
        plan.replace(folder / f"{PLAN_FILE}.not-read")
    (staging / PLAN_FILE).replace(plan)


def _manifest(folder: Path) -> dict[str, str]:
    """Return what an earlier run wrote; names that leave the folder are not believed."""
    try:
        known = json.loads((folder / _MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    if not isinstance(known, dict):
        return {}
    return {
        name: digest
        for name, digest in known.items()
        if isinstance(digest, str) and not Path(name).is_absolute() and ".." not in Path(name).parts
    }


def _digest(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()
