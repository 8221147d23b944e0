"""Run the command line as a user would: a fresh process, 80 columns."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "data"


def passband(*args: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run ``passband`` and return what it said."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "80", "PYTHONUTF8": "1"}
    return subprocess.run(
        [sys.executable, "-m", "planner", *map(str, args)],
        cwd=cwd or ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


def copy_of_demo(folder: Path) -> Path:
    """Copy the demo's files and return the tour file."""
    shutil.copytree(DEMO, folder, dirs_exist_ok=True)
    return folder / "tour.toml"


def files_under(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder with its bytes."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
