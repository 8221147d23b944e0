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
_OTHER_FOLDER = "name another folder with --out"
_LOCK = ".passband.lock"
_STAGING = ".passband-writing-"
_MANIFEST = ".passband-files.json"


def plan_digest(folder: Path) -> str:
    """Return the SHA-256 of the plan.json in a folder, empty where there is none."""
    plan = folder / PLAN_FILE
    return _digest(plan.read_bytes()) if plan.is_file() else ""


def write_bundle(
    folder: Path,
    document: Mapping[str, Any],
    texts: Mapping[str, str],
    *,
    seen: str | None = None,
) -> None:
    """Write plan.json and the rendered files under a folder.

    Parameters
    ----------
    folder : Path
        Made when missing.
    document : mapping
        The plan.
    texts : mapping of str to str
        Relative path to text.
    seen : str, optional
        :func:`plan_digest` of the folder when the run began; a plan.json that another run put
        there since is not written over.

    Raises
    ------
    InputFaults
        When the folder cannot be written, another run is writing it or wrote it meanwhile, or a
        file that no earlier run wrote - or that somebody changed since - stands in the way.

    Notes
    -----
    Everything is written under a hidden folder inside, then moved, plan.json last. Files that an
    earlier run wrote, and that nobody changed since, are replaced, or removed when the new plan
    has none of that name; all other files are left alone. A plan.json that is none is moved
    aside.
    """
    everything = {**texts, PLAN_FILE: plan_text(document)}
    try:
        if folder.exists() and not folder.is_dir():
            raise InputFaults(
                [Fault(file=str(folder), value="a file", allowed="a folder", advice=_OTHER_FOLDER)]
            )
        folder.mkdir(parents=True, exist_ok=True)
        with _locked(folder):
            if seen is not None and plan_digest(folder) != seen:
                raise InputFaults(
                    [
                        Fault(
                            file=str(folder / PLAN_FILE),
                            value="a plan that another run wrote meanwhile",
                            advice="run again, so that it is followed",
                        )
                    ]
                )
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
                    advice=_OTHER_FOLDER,
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
    """Refuse to write over what is not ours, all of it at once."""
    ours = _manifest(folder)
    parents = sorted({(folder / name).parent for name in texts} - {folder})
    faults = [
        Fault(
            file=str(parent),
            value="a file where a folder is needed",
            advice=f"move it away, or {_OTHER_FOLDER}",
        )
        for parent in parents
        if parent.exists() and not parent.is_dir()
    ]
    for name in texts:
        target = folder / name
        if not (target.exists() or target.is_symlink()):
            continue
        if not target.is_file() or (
            name != PLAN_FILE and _digest(target.read_bytes()) not in ours.get(name, ())
        ):
            faults.append(
                Fault(
                    file=str(target),
                    value="something that passband did not write, or that was changed since",
                    advice=f"move it away, or {_OTHER_FOLDER}",
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
    """Put everything in its place; a run killed on the way leaves only files known as ours."""
    earlier = _manifest(folder)
    new = {name: (_digest(text.encode()),) for name, text in texts.items()}
    both = {
        name: tuple(dict.fromkeys((*earlier.get(name, ()), *new.get(name, ()))))
        for name in {**earlier, **new}
    }
    _put_manifest(staging, folder, both)
    for name in texts:
        if name != PLAN_FILE:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (staging / name).replace(folder / name)
    for name, digests in earlier.items():
        old = folder / name
        if name not in texts and old.is_file() and _digest(old.read_bytes()) in digests:
            old.unlink()
    plan = folder / PLAN_FILE
    if plan.is_file() and not is_plan(plan):
        plan.replace(_free_name(folder, f"{PLAN_FILE}.not-read"))
    (staging / PLAN_FILE).replace(plan)
    _put_manifest(staging, folder, new)


def _put_manifest(staging: Path, folder: Path, known: Mapping[str, tuple[str, ...]]) -> None:
    text = json.dumps({name: list(known[name]) for name in sorted(known)}, indent=1)
    (staging / _MANIFEST).write_text(text, encoding="utf-8")
    (staging / _MANIFEST).replace(folder / _MANIFEST)


def _free_name(folder: Path, name: str) -> Path:
    number = 1
    while (folder / (name if number == 1 else f"{name}-{number}")).exists():
        number += 1
    return folder / (name if number == 1 else f"{name}-{number}")


def _manifest(folder: Path) -> dict[str, tuple[str, ...]]:
    """Return what earlier runs wrote; names that leave the folder are not believed."""
    try:
        known = json.loads((folder / _MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(known, dict):
        return {}
    return {
        name: tuple(digest for digest in digests if isinstance(digest, str))
        for name, digests in known.items()
        if isinstance(digests, list)
        and not Path(name).is_absolute()
        and ".." not in Path(name).parts
    }


def _digest(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()
