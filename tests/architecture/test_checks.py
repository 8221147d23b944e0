"""Every static check, so that one command runs all of them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CHECKS = {
    "ruff": [sys.executable, "-m", "ruff", "check", "--no-cache", "."],
    "format": [sys.executable, "-m", "ruff", "format", "--no-cache", "--check", "."],
    "types": [sys.executable, "-m", "mypy"],
    "layers": [
        sys.executable,
        "-c",
        "from importlinter.cli import lint_imports_command; lint_imports_command()",
        "--no-cache",
    ],
}


@pytest.mark.parametrize("name", CHECKS)
def test_check_passes(name: str) -> None:
    run = subprocess.run(CHECKS[name], cwd=ROOT, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout[-4000:] + run.stderr[-2000:]
