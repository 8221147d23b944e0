"""Files for other people, written whole; what somebody filled in since is never written over."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

from planner.cli.bundle import cannot_write
from planner.errors import Fault, InputFaults
from planner.intake.writing import write_files_atomically

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

_KNOWN = ".passband-answers.json"


def write_loose_files(folder: Path, contents: Mapping[str, str | bytes]) -> None:
    """Write files into a folder beside whatever stands there.

    Parameters
    ----------
    folder : Path
        Made when missing.
    contents : mapping of str to str or bytes
        By name in the folder. A file of that name is replaced when an earlier run wrote it and
        nobody changed it since.

    Raises
    ------
    InputFaults
        When the folder cannot be written, or a file was changed since or is not ours; nothing is
        written then.
    """
    refuse_changed(folder, contents)
    known = _known(folder)
    raw = {name: _raw(content) for name, content in contents.items()}
    known |= {name: hashlib.sha256(data).hexdigest() for name, data in raw.items()}
    text = json.dumps({name: known[name] for name in sorted(known)}, indent=1)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputFaults([cannot_write(folder, error)]) from error
    write_files_atomically(
        {folder / _KNOWN: text.encode(), **{folder / name: data for name, data in raw.items()}}
    )


def refuse_changed(folder: Path, names: Mapping[str, object]) -> None:
    """Refuse to go on where a file would have to be written over that is not as we wrote it.

    Raises
    ------
    InputFaults
        With every such file.
    """
    known = _known(folder)
    faults = [
        Fault(
            file=str(folder / name),
            value="something that passband did not write, or that was changed since",
            advice="move it away, or name another folder with --out",
        )
        for name in names
        if (folder / name).exists() and _digest(folder / name) != known.get(name, "")
    ]
    if faults:
        raise InputFaults(faults)


def _known(folder: Path) -> dict[str, str]:
    """Return the checksums of what earlier runs wrote."""
    try:
        found = json.loads((folder / _KNOWN).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {name: text for name, text in found.items() if isinstance(text, str)}


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "no file"


def _raw(content: str | bytes) -> bytes:
    return content if isinstance(content, bytes) else content.encode()
