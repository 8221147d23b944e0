"""The layout of the repository, small modules, units in names, what CI runs."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MODULES = sorted((ROOT / "planner").rglob("*.py"))
TOP = {
    "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "NOTICE", "pyproject.toml",
    "planner", "data", "tests", "notebooks",
}  # fmt: skip
BARE = {
    "frequency", "distance", "height", "power", "gain", "field", "azimuth", "erp", "bandwidth",
    "lat", "lon", "latitude", "longitude", "gain_db",
}  # fmt: skip


def test_top_level_holds_what_was_agreed() -> None:
    build = {"build", "dist", "passband-demo", "venv"}
    found = {
        path.name
        for path in ROOT.iterdir()
        if not path.name.startswith(".") and path.name not in build
    }
    assert found <= TOP | {name for name in found if name.endswith(".egg-info")}
    assert found >= TOP


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_modules_are_small_and_quantities_carry_units(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    # the kernel stays in one file: what is compiled is kept for as long as that file is unchanged
    assert len(text.splitlines()) <= (450 if path.name == "kernel.py" else 420)
    if "report" in path.parts:
        return  # widths and heights of pictures are in the units of the drawing
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            names = {arg.arg for arg in (*node.args.args, *node.args.kwonlyargs)}
            assert not names & BARE, f"{node.name}: {names & BARE} without a unit"


def test_ci_runs_the_readmes_test_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    match = re.search(r"<!-- tests -->\n```sh\n(.+?)\n```", readme)
    assert match is not None
    assert "pytest" in match[1]
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "<!-- tests -->" in script
    assert "README.md" in script


def test_the_developers_guide_lists_every_dependency() -> None:
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    block = project.split("dependencies = [", 1)[1].split("[project.scripts]", 1)[0]
    for name in re.findall(r'"([A-Za-z0-9-]+)>=', block):
        assert name in guide, f"{name} is not explained in DEVELOPERS.md"
