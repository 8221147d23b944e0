"""Writing a folder: one run at a time, whole or not at all, whatever kills it or fills the disk."""

from __future__ import annotations

import contextlib
import errno
import json
import os
import random
import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from planner.cli import folder_lock
from planner.cli.bundle import bundle_in, write_bundle
from planner.cli.folder_lock import LOCK_FILE, locked
from planner.errors import InputFaults
from planner.plan import plan_text
from tests.cli.running import DEMO, ROOT, files_under, passband

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

KILLS = int(os.environ.get("PASSBAND_KILLS", "6"))
"""Random kills while writing; more by the environment."""


def small_plan(version: int) -> dict[str, Any]:
    made = {"issue": version, "replaces": None, "version": "1", "effort": "normal"}
    return {"schema": "passband-plan/1", "made": made, "inputs": [], "stops": []}


def sheets(version: int) -> dict[str, str]:
    """Return files that come, stay and go from one version to the next."""
    names = [f"sheets/{n}.html" for n in range(version, version + 12)]
    return dict.fromkeys([*names, "tables/all.csv"], f"{version} " * 4000)


# --- the lock ----------------------------------------------------------------------------------

HOLD = (
    "import pathlib, sys, time\n"
    "from planner.cli.folder_lock import locked\n"
    "from planner.errors import InputFaults\n"
    "try:\n"
    "    with locked(pathlib.Path(sys.argv[1])):\n"
    "        print('held', flush=True)\n"
    "        time.sleep(float(sys.argv[2]))\n"
    "except InputFaults:\n"
    "    print('refused', flush=True)\n"
)


def start(code: str, *args: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, args)], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )


def children_seconds() -> float:
    """Return the processor time of the commands run so far [s]: the clock would see other work."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


@pytest.fixture
def holder(tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    process = start(HOLD, tmp_path, 60)
    assert process.stdout is not None
    assert process.stdout.readline() == "held\n"
    yield process
    process.kill()
    process.communicate()


def test_the_second_to_start_is_refused_before_any_work(
    tmp_path: Path, holder: subprocess.Popen[str]
) -> None:
    before = files_under(tmp_path)
    began = children_seconds()
    run = passband("plan", DEMO / "tour.toml", "--out", tmp_path)
    assert run.returncode == 2
    assert f"another run is writing this folder (process {holder.pid} on " in run.stderr
    assert len(run.stderr.strip().splitlines()) == 1
    assert files_under(tmp_path) == before
    # a plan of the demo takes some seconds, a start about half of one
    assert children_seconds() - began < 3.0
    demo = passband("demo", "--out", tmp_path)
    assert (demo.returncode, "another run" in demo.stderr) == (2, True)


def test_a_killed_holder_frees_the_folder(tmp_path: Path, holder: subprocess.Popen[str]) -> None:
    with pytest.raises(InputFaults, match="another run is writing"), locked(tmp_path):
        pass
    holder.kill()
    holder.wait()
    with locked(tmp_path):
        assert (tmp_path / LOCK_FILE).exists()
    assert not (tmp_path / LOCK_FILE).exists()


def changed_lock(folder: Path, **more: str) -> None:
    with locked(folder):
        text = (folder / LOCK_FILE).read_text(encoding="utf-8")
    (folder / LOCK_FILE).write_text(json.dumps(json.loads(text) | more), encoding="utf-8")


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs the moment of a start")
@pytest.mark.parametrize("more", [{"started": "1"}, {"boot": "another"}])
def test_a_number_used_again_and_an_earlier_boot_hold_nothing(
    tmp_path: Path, more: dict[str, str]
) -> None:
    changed_lock(tmp_path, **more)
    with locked(tmp_path):
        pass
    assert not (tmp_path / LOCK_FILE).exists()


@pytest.mark.parametrize(
    "more", [{"machine": "another", "host": "bus-laptop", "process": "99999999"}, {}]
)
def test_another_machine_and_a_living_process_keep_theirs(
    tmp_path: Path, more: dict[str, str]
) -> None:
    changed_lock(tmp_path, **more)
    kept = (tmp_path / LOCK_FILE).read_bytes()
    with (
        pytest.raises(InputFaults, match=more.get("host", str(os.getpid()))),
        locked(tmp_path),
    ):
        pass
    assert (tmp_path / LOCK_FILE).read_bytes() == kept


@pytest.mark.parametrize("text", ["{", "1", "null", '{"process": "1"}'])
def test_a_lock_that_cannot_be_read_is_left_to_the_user(tmp_path: Path, text: str) -> None:
    (tmp_path / LOCK_FILE).write_text(text, encoding="utf-8")
    with pytest.raises(InputFaults, match="delete this file"), locked(tmp_path):
        pass
    assert (tmp_path / LOCK_FILE).read_text(encoding="utf-8") == text


def test_a_lock_whose_writer_died_before_its_name_was_in_is_cleared(tmp_path: Path) -> None:
    (tmp_path / LOCK_FILE).touch()
    with locked(tmp_path):
        pass
    assert not (tmp_path / LOCK_FILE).exists()


def test_of_many_that_find_a_dead_lock_one_takes_it(tmp_path: Path) -> None:
    changed_lock(tmp_path, boot="another")
    processes = [start(HOLD, tmp_path, 2) for _ in range(6)]
    said = sorted(process.communicate()[0].strip() for process in processes)
    assert said == ["held", *["refused"] * 5]


def test_two_plans_at_once_one_is_refused(tmp_path: Path) -> None:
    out = tmp_path / "out"
    command = [sys.executable, "-m", "planner", "plan", DEMO / "tour.toml", "--out", out]
    runs = [
        subprocess.Popen(
            [*map(str, command), "--effort", "quick"],
            cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        )
        for _ in range(2)
    ]  # fmt: skip
    said = [run.communicate()[1] for run in runs]
    assert sorted(run.returncode for run in runs) == [0, 2]
    assert sum("another run is writing this folder" in text for text in said) == 1
    assert (out / "plan.json").exists()
    assert not (out / LOCK_FILE).exists()


def test_a_run_that_fails_takes_back_the_folders_it_made(tmp_path: Path) -> None:
    def fail() -> None:
        with bundle_in(tmp_path / "a" / "b"):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fail()
    assert list(tmp_path.iterdir()) == []


# --- kills -------------------------------------------------------------------------------------

WRITE = (
    "import pathlib, sys\n"
    "from planner.cli.bundle import write_bundle\n"
    "from tests.cli.test_writing import sheets, small_plan\n"
    "print('ready', flush=True)\n"
    "for version in range(2, 100000):\n"
    "    write_bundle(pathlib.Path(sys.argv[1]), small_plan(version), sheets(version))\n"
)


def test_a_kill_while_writing_leaves_a_whole_plan_and_no_half_file(tmp_path: Path) -> None:
    """After each kill every file is whole, the plan is one that was written, the next run goes."""
    generator = random.Random(20261125)  # noqa: S311 - moments of kills, no secret
    write_bundle(tmp_path, small_plan(1), sheets(1))
    for _ in range(KILLS):
        process = start(WRITE, tmp_path)
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        time.sleep(generator.uniform(0.0, 0.3))
        process.kill()
        process.communicate()
        plan = (tmp_path / "plan.json").read_text(encoding="utf-8")
        version = json.loads(plan)["made"]["issue"]
        assert plan == plan_text(small_plan(version))
        for name, raw in files_under(tmp_path).items():
            if name.startswith(("sheets/", "tables/")):
                text = raw.decode()
                assert text == f"{text.split()[0]} " * 4000
        write_bundle(tmp_path, small_plan(1), sheets(1))
        assert set(files_under(tmp_path)) == {*sheets(1), "plan.json", ".passband-files.json"}


# --- full and closed disks ---------------------------------------------------------------------


@pytest.mark.parametrize("call", ["open", "write", "fsync", "mkdir"])
@pytest.mark.parametrize("after", [0, 1, 5, 9])
def test_a_full_disk_is_one_line_and_the_plan_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, after: int
) -> None:
    write_bundle(tmp_path, small_plan(1), sheets(1))
    before = files_under(tmp_path)
    left, real = [after], getattr(os, call)

    def full(*args: Any, **more: Any) -> Any:
        if left[0] <= 0:
            raise OSError(errno.ENOSPC, "No space left on device")
        left[0] -= 1
        return real(*args, **more)

    with monkeypatch.context() as patch:
        patch.setattr(os, call, full)
        said = _refusal(lambda: write_bundle(tmp_path, small_plan(2), sheets(2)))
    if said:
        assert said.startswith(f"{tmp_path}; got No space left on device; allowed: a disk with")
        assert files_under(tmp_path) == before
    else:  # the run needs fewer such calls
        assert files_under(tmp_path)["plan.json"] == plan_text(small_plan(2)).encode()
    assert said or (call, after) not in {("open", 0), ("write", 0), ("fsync", 0), ("fsync", 9)}
    write_bundle(tmp_path, small_plan(1), sheets(1))
    assert files_under(tmp_path) == before


def _refusal(work: Callable[[], None]) -> str:
    try:
        work()
    except InputFaults as error:
        (fault,) = error.faults
        return fault.line()
    return ""


@contextlib.contextmanager
def mounted(folder: Path, options: str) -> Iterator[None]:
    """Mount a small disk in memory; only an administrator can."""
    command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(folder)]
    if os.name != "posix" or os.geteuid() != 0:
        pytest.skip("mounting a small disk needs an administrator")
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    if done.returncode:
        pytest.skip(f"no small disk can be mounted here: {done.stderr.strip()}")
    try:
        yield
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def test_a_disk_too_small_for_the_plan(tmp_path: Path) -> None:
    with mounted(tmp_path, "size=512k"):
        out = tmp_path / "out"
        write_bundle(out, small_plan(1), {"sheets/a.html": "a"})
        before = files_under(out)
        run = passband("plan", DEMO / "tour.toml", "--out", out, "--effort", "quick", "--fresh")
        assert run.returncode == 2
        (line,) = run.stderr.strip().splitlines()
        assert "No space left on device" in line
        assert "make room" in line
        assert files_under(out) == before


def test_a_disk_that_is_full_already_is_told_before_any_work(tmp_path: Path) -> None:
    with mounted(tmp_path, "size=64k"):
        with contextlib.suppress(OSError), (tmp_path / "fill").open("wb", buffering=0) as stream:
            while stream.write(b"x" * 4096):
                pass
        began = children_seconds()
        run = passband("plan", DEMO / "tour.toml", "--out", tmp_path)
        assert children_seconds() - began < 3.0
        assert run.returncode == 2
        assert "No space left on device" in run.stderr
        assert set(files_under(tmp_path)) == {"fill"}


def test_a_read_only_disk_is_told_before_any_work(tmp_path: Path) -> None:
    with mounted(tmp_path, "ro"):
        for command in (["plan", DEMO / "tour.toml", "--out"], ["demo", "--out"], ["new"]):
            for folder in (tmp_path, tmp_path / "out"):
                began = children_seconds()
                run = passband(*command, folder)
                assert children_seconds() - began < 3.0
                assert run.returncode == 2
                (line,) = run.stderr.strip().splitlines()
                assert "Read-only file system" in line
                assert "allowed: a f" in line


def test_a_closed_folder_inside_is_told_before_any_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_bundle(tmp_path, small_plan(1), sheets(1))
    access = os.access
    closed = tmp_path / "sheets"
    monkeypatch.setattr(os, "access", lambda path, mode: path != closed and access(path, mode))
    with pytest.raises(InputFaults, match=r"sheets; got Permission denied"):
        bundle_in(tmp_path).__enter__()
    assert not (tmp_path / LOCK_FILE).exists()


def test_where_the_system_knows_no_hold_no_lock_is_cleared(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    changed_lock(tmp_path, boot="another")
    monkeypatch.setitem(sys.modules, "fcntl", None)
    with pytest.raises(InputFaults, match="another run"), locked(tmp_path):
        pass
    (tmp_path / LOCK_FILE).unlink()
    with locked(tmp_path):
        assert folder_lock.LOCK_FILE in files_under(tmp_path)
