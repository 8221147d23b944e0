"""A command rests the search for rings of references, and takes it up again whatever happens."""

from __future__ import annotations

import gc
import subprocess
import sys

import pytest

from planner.cli.memory import without_collector


@pytest.mark.parametrize("enabled", [True, False])
def test_the_collector_rests_meanwhile_and_is_as_it_was_after(*, enabled: bool) -> None:
    before = gc.isenabled()
    try:
        (gc.enable if enabled else gc.disable)()
        with without_collector():
            assert not gc.isenabled()
        assert gc.isenabled() is enabled
        with pytest.raises(ValueError, match="broken"), without_collector():
            raise ValueError("broken")
        assert gc.isenabled() is enabled
    finally:
        (gc.enable if before else gc.disable)()


def test_nothing_is_searched_for_at_the_end_of_the_process() -> None:
    """Rings that are there at the end are not looked for: their finalizers do not run."""
    code = (
        "import gc\n"
        "from planner.cli.memory import leave_at_once\n"
        "class Ring:\n"
        "    def __del__(self): print('found')\n"
        "{}\n"
        "gc.disable()\n"
        "Ring.own = Ring()\n"
        "ring = Ring()\n"
        "ring.own = ring\n"
        "del ring\n"
        "print('end')\n"
    )
    told = [
        subprocess.run(
            [sys.executable, "-c", code.format(line)], capture_output=True, text=True, check=True
        ).stdout.split()
        for line in ("", "leave_at_once()")
    ]
    assert told[0].count("found") > told[1].count("found")
