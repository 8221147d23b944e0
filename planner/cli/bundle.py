"""Write a plan and its sheets: whole or not at all, plan.json last, one writer at a time."""

from __future__ import annotations

import contextlib
import dataclasses
import errno
import hashlib
import json
import os
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.cli.earlier import is_plan
from planner.cli.folder_lock import locked
from planner.errors import Fault, InputFaults
from planner.plan import plan_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

PLAN_FILE = "plan.json"
_OTHER_FOLDER = "name another folder with --out"
_FOLDERS = ("sheets", "tables")
_FULL = (errno.ENOSPC, errno.EDQUOT)
_WRITE = os.W_OK | os.X_OK
_STAGING = ".passband-writing-"
_MANIFEST = ".passband-files.json"


def plan_digest(folder: Path) -> str:
    """Return the SHA-256 of the plan.json in a folder, empty where there is none."""
    plan = folder / PLAN_FILE
    return _digest(plan.read_bytes()) if plan.is_file() else ""


def write_bundle(
    folder: Path,
    document: Mapping[str, Any],
    texts: Mapping[str, str | bytes],
    *,
    seen: str | None = None,
) -> None:
    """Write plan.json and the rendered files under a folder, as :meth:`Bundle.write` does.

    Parameters
    ----------
    folder : Path
        Made when missing.
    document : mapping
        The plan.
    texts : mapping of str to str or bytes
        Relative path to text, or to what is no text.
    seen : str, optional
        :func:`plan_digest` of the folder when the run began; a plan.json that came there since is
        not written over.

    Raises
    ------
    InputFaults
        When the folder cannot be written or another run is writing it, when plan.json was
        changed meanwhile, or when a file that no earlier run wrote - or that somebody changed
        since - stands in the way.
    """
    with bundle_in(folder) as bundle:
        if seen is not None:
            bundle.seen = seen
        bundle.write(document, texts)


@contextlib.contextmanager
def bundle_in(folder: Path) -> Iterator[Bundle]:
    """Take a folder for a run: from the start of its work to the end nobody else writes there.

    Parameters
    ----------
    folder : Path
        Made when missing; a run that fails takes back the folders that it made.

    Raises
    ------
    InputFaults
        At once, before any work, when the folder cannot be written or another run writes it.
    """
    with _told(folder):
        made = _make(folder)
    held = contextlib.ExitStack()
    try:
        with _told(folder):
            held.enter_context(locked(folder))
        with held:
            with _told(folder):
                _refuse_read_only(folder)
                for left in folder.glob(f"{_STAGING}*"):
                    shutil.rmtree(left, ignore_errors=True)
            yield Bundle(folder=folder, seen=plan_digest(folder))
    except BaseException:
        with contextlib.suppress(OSError):
            for path in made:
                path.rmdir()
        raise


@dataclasses.dataclass(kw_only=True, slots=True)
class Bundle:
    """A folder that this run alone may write.

    Attributes
    ----------
    seen : str
        :func:`plan_digest` when the run began.
    """

    folder: Path
    seen: str

    def write(self, document: Mapping[str, Any], texts: Mapping[str, str | bytes]) -> None:
        """Write plan.json and the rendered files.

        Raises
        ------
        InputFaults
            As :func:`write_bundle`.

        Notes
        -----
        Everything is written under a hidden folder inside and is on the disk before anything is
        moved; plan.json is moved last. Files that an earlier run wrote, and that nobody changed
        since, are replaced, or removed when the new plan has none of that name; all other files
        are left alone. A plan.json that is none is moved aside.
        """
        folder, everything = self.folder, {**texts, PLAN_FILE: plan_text(document)}
        with _told(folder):
            if plan_digest(folder) != self.seen:
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

    def add(self, files: Mapping[str, str | bytes]) -> None:
        """Write files beside whatever is there; nothing is removed, plan.json is not touched.

        Raises
        ------
        InputFaults
            When a file that no earlier run wrote - or that somebody changed since - stands in the
            way.
        """
        with _told(self.folder):
            _refuse_foreign(self.folder, files)
            staging = Path(tempfile.mkdtemp(prefix=_STAGING, dir=self.folder))
            try:
                _fill(staging, files)
                known = _put_known(staging, self.folder, files)
                _place(staging, self.folder, files)
                kept = {name: (_digest(_raw(files[name])),) for name in files}
                _put_manifest(staging, self.folder, {**known, **kept})
            finally:
                shutil.rmtree(staging, ignore_errors=True)


@contextlib.contextmanager
def _told(folder: Path) -> Iterator[None]:
    """Turn a folder that cannot be written, or a full disk, into one clear line."""
    try:
        yield
    except OSError as error:
        raise InputFaults([cannot_write(folder, error)]) from error


def cannot_write(folder: Path, error: OSError) -> Fault:
    """Return what to tell when a folder cannot be written."""
    if error.errno in _FULL:
        return Fault(
            file=str(folder),
            value=error.strerror or "a full disk",
            allowed="a disk with room for the plan and its sheets",
            advice=f"plan.json there is whole; make room, or {_OTHER_FOLDER}",
        )
    if isinstance(error, FileExistsError | NotADirectoryError):
        return Fault(file=str(folder), value="a file", allowed="a folder", advice=_OTHER_FOLDER)
    return Fault(
        file=str(folder),
        value=error.strerror or type(error).__name__,
        allowed="a folder that can be written",
        advice=_OTHER_FOLDER,
    )


def _make(folder: Path) -> list[Path]:
    """Make a folder and return those made, the innermost first."""
    made: list[Path] = []
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    for path in reversed(missing):
        path.mkdir(exist_ok=True)
        made.insert(0, path)
    if not folder.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, "a file", str(folder))
    return made


def _refuse_read_only(folder: Path) -> None:
    """Say before any work which of the folders inside cannot be written."""
    inside = {folder / name for name in (*_FOLDERS, *_manifest(folder))}
    parents = {path if path.name in _FOLDERS else path.parent for path in inside}
    closed = [path for path in sorted(parents) if path.is_dir() and not os.access(path, _WRITE)]
    if closed:
        reason = PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        raise InputFaults([cannot_write(path, reason) for path in closed])


def _refuse_foreign(folder: Path, texts: Mapping[str, str | bytes]) -> None:
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


def _fill(staging: Path, texts: Mapping[str, str | bytes]) -> None:
    for name, text in texts.items():
        target = staging / name
        target.parent.mkdir(parents=True, exist_ok=True)
        with target.open("wb") as stream:
            stream.write(_raw(text))
            stream.flush()
            os.fsync(stream.fileno())  # some disks say only here that they are full


def _move(staging: Path, folder: Path, texts: Mapping[str, str | bytes]) -> None:
    """Put everything in its place; a run killed on the way leaves only files known as ours."""
    earlier = _manifest(folder)
    new = {name: (_digest(_raw(text)),) for name, text in texts.items()}
    _put_known(staging, folder, texts)
    _place(staging, folder, texts)
    for name, digests in earlier.items():
        old = folder / name
        if name not in texts and old.is_file() and _digest(old.read_bytes()) in digests:
            old.unlink()
    plan = folder / PLAN_FILE
    ours = plan.is_file() and _digest(plan.read_bytes()) in earlier.get(PLAN_FILE, ())
    if plan.is_file() and not (ours or is_plan(plan)):
        plan.replace(_free_name(folder, f"{PLAN_FILE}.not-read"))
    (staging / PLAN_FILE).replace(plan)
    _put_manifest(staging, folder, new)


def _put_known(
    staging: Path, folder: Path, texts: Mapping[str, str | bytes]
) -> dict[str, tuple[str, ...]]:
    """Make old and new files known as ours before anything is moved; return what is known."""
    known = _manifest(folder)
    for name, text in texts.items():
        known[name] = tuple(dict.fromkeys((*known.get(name, ()), _digest(_raw(text)))))
    _put_manifest(staging, folder, known)
    return known


def _place(staging: Path, folder: Path, texts: Mapping[str, str | bytes]) -> None:
    for name in texts:
        if name != PLAN_FILE:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (staging / name).replace(folder / name)


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


def _raw(text: str | bytes) -> bytes:
    return text.encode() if isinstance(text, str) else text


def _digest(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()
