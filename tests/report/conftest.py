"""The invented plan and the published schema, for every test of reports."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

import pytest

from tests.report.sample_plan import sample_plan


@pytest.fixture
def plan() -> dict[str, Any]:
    return sample_plan()


@pytest.fixture(scope="session")
def schema() -> dict[str, Any]:
    text = files("planner").joinpath("plan/passband-plan-1.schema.json").read_text("utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded
