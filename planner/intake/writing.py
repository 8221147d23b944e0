"""Files written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from planner.errors import Fault, InputFaults

if TYPE_CHECKING:
    from collections.abc import Mapping


def write_text_atomically(path: Path, text: str) -> None:
    """Write a text file in UTF-8 so that a reader sees the old file or the new one, never half.

    Parameters
    ----------
    path : Path
        The file; its folder must exist. An existing file is replaced and keeps its mode.
    text : str
        Written as it is, line ends included.

    Raises
    ------
    InputFaults
        When the folder is missing or not writable; nothing is left behind.
    """
    write_texts_atomically({path: text})


def write_texts_atomically(texts: Mapping[Path, str]) -> None:
    """Write several text files; none is put in its place before all are on the disk.

    Parameters
    ----------
    texts : mapping of Path to str
        Put in place in this order, so the file that vouches for the others comes last.

    Raises
    ------
    InputFaults
        As :func:`write_text_atomically`.
    """
    write_files_atomically({path: text.encode() for path, text in texts.items()})


def write_files_atomically(contents: Mapping[Path, bytes]) -> None:
    """Write several files as :func:`write_texts_atomically` does, whatever they hold.

    Parameters
    ----------
    contents : mapping of Path to bytes
        Put in place in this order.

    Raises
    ------
    InputFaults
        As :func:`write_text_atomically`.
    """
    waiting: dict[Path, Path] = {}
    path = Path()
    try:
        for path, content in contents.items():
            waiting[path] = _write_beside(path, content)
        for path in contents:
            os.replace(waiting[path], path)  # noqa: PTH105 - named for what it promises
            del waiting[path]
    except OSError as error:
        reason = error.strerror or type(error).__name__
        fault = Fault(
            file=str(path),
            value=f"cannot be written: {reason}",
            allowed="a file in a folder that exists and can be written",
            advice="make the folder or name another file",
        )
        raise InputFaults([fault]) from error
    finally:
        for temporary in waiting.values():
            with contextlib.suppress(OSError):
                temporary.unlink()


def _write_beside(path: Path, content: bytes) -> Path:
    if path.is_dir():
        raise IsADirectoryError(21, "it is a folder")
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".tmp", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask())
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
