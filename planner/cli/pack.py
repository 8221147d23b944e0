"""``passband pack``: how many carriers fit into given windows, and which."""

from __future__ import annotations

import dataclasses
import re
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner.cli.running import EXIT_SHORT, print_json

if TYPE_CHECKING:
    from planner.coordination import Grid, GuardSet, Packing
    from planner.errors import Fault

_NUMBER = re.compile(r"\d+(?:\.\d*)?|\.\d+")
_WHOLE = re.compile(r"\d+")
_WINDOW = re.compile(r"\s*([^\s-]+)\s*-\s*([^\s-]+)\s*")
_HIGHEST_HZ = 10**12
_MOST_POINTS = 2_000_000
_MOST_WARNINGS = 20
_CARRIERS_A_LINE = 6


def pack_command(
    *,
    windows: Annotated[
        str, typer.Option(help="Closed windows of carrier centres [MHz], e.g. 470-476,500.1-511.9.")
    ] = "",
    step: Annotated[str, typer.Option(help="Raster of the centres [kHz].")] = "",
    spacing: Annotated[str, typer.Option(help="Least distance of two carriers [kHz].")] = "",
    guard_2a_b: Annotated[
        str, typer.Option("--guard-2a-b", help="Guard against 2A-B [kHz]; 0: not protected.")
    ] = "0",
    guard_a_b_c: Annotated[
        str, typer.Option("--guard-a-b-c", help="Guard against A+B-C [kHz]; 0: not protected.")
    ] = "0",
    guard_3a_2b: Annotated[
        str, typer.Option("--guard-3a-2b", help="Guard against 3A-2B [kHz]; 0: not protected.")
    ] = "0",
    fixed: Annotated[
        str, typer.Option(help="Carriers that stand already [MHz], anywhere, e.g. 505.0,506.2.")
    ] = "",
    origin: Annotated[str, typer.Option(help="A frequency on the raster [MHz].")] = "0",
    count: Annotated[str, typer.Option(help="Stop at so many carriers, fixed ones included.")] = "",
    steps: Annotated[str, typer.Option(help="Most candidates to try (default 150000).")] = "",
    seconds: Annotated[str, typer.Option(help="Search by the clock instead of steps [s].")] = "",
    seed: Annotated[str, typer.Option(help="Start of the random numbers.")] = "0",
    exact: Annotated[
        str,
        typer.Option(
            help="Then let the constraint solver work for about so long [s]; small cases."
        ),
    ] = "",
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Find carriers whose products keep off each other, beside a proven upper bound.

    A product nearer than its guard to a carrier that is not one of its sources is a violation;
    a distance equal to the guard is allowed. Exit code 3 when fewer than --count fit.

    Example: passband pack --windows 470-476,500.1-511.9 --step 25 --spacing 350 --guard-2a-b 100
    """
    question = _read(
        windows=windows,
        step=step,
        spacing=spacing,
        guard_2a_b=guard_2a_b,
        guard_a_b_c=guard_a_b_c,
        guard_3a_2b=guard_3a_2b,
        fixed=fixed,
        origin=origin,
        count=count,
        steps=steps,
        seconds=seconds,
        seed=seed,
        exact=exact,
    )
    answer = _finish(question, _search(question))
    if as_json:
        print_json(_as_document(answer, question.guards))
    else:
        typer.echo(_as_text(answer))
    wanted = question.count
    if wanted is not None and answer.found < wanted:
        typer.echo(
            f"{wanted} carriers wanted, {answer.found} found, proven upper bound {answer.limit}",
            err=True,
        )
        raise typer.Exit(EXIT_SHORT)


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class _Question:
    """The options, read; None where one was left out."""

    grid: Grid
    guards: GuardSet
    fixed_hz: tuple[int, ...]
    count: int | None
    steps: int | None
    seconds: float | None
    seed: int
    exact_seconds: float | None


def _read(**options: str) -> _Question:
    from planner.coordination import GuardSet

    reader = _Reader()
    grid = reader.grid(options["windows"], options["step"], options["origin"])
    guards = GuardSet(
        spacing_hz=reader.khz("--spacing", options["spacing"]),
        guard_2a_b_hz=reader.khz("--guard-2a-b", options["guard_2a_b"]),
        guard_a_b_c_hz=reader.khz("--guard-a-b-c", options["guard_a_b_c"]),
        guard_3a_2b_hz=reader.khz("--guard-3a-2b", options["guard_3a_2b"]),
    )
    fixed_hz = reader.fixed(options["fixed"])
    count = reader.whole("--count", options["count"], least=1)
    steps = reader.whole("--steps", options["steps"], least=1)
    seconds = reader.seconds(options["seconds"], steps=options["steps"])
    seed = reader.whole("--seed", options["seed"], least=0)
    exact_seconds = reader.time("--exact", options["exact"])
    return _Question(
        grid=reader.sound(grid),
        guards=guards,
        fixed_hz=fixed_hz,
        count=count,
        steps=steps,
        seconds=seconds,
        seed=seed or 0,
        exact_seconds=exact_seconds,
    )


def _search(question: _Question) -> Packing:
    import time

    from planner.coordination import (
        DEFAULT_STEPS,
        Budget,
        PlacedCarrier,
        pack_carriers,
        prepare,
        violations,
    )

    fixed = [PlacedCarrier(frequency_hz=hz, guards=question.guards) for hz in question.fixed_hz]
    found = violations(fixed)
    for violation in found[:_MOST_WARNINGS]:
        typer.echo(f"warning: fixed carriers: {violation.line()}", err=True)
    if len(found) > _MOST_WARNINGS:
        typer.echo(f"warning: {len(found) - _MOST_WARNINGS} more among them", err=True)
    seconds = question.seconds
    if seconds is None:
        budget = Budget(DEFAULT_STEPS if question.steps is None else question.steps)
    else:
        prepare()
        end_s = time.monotonic() + seconds
        budget = Budget(expired=lambda: time.monotonic() >= end_s)
    return pack_carriers(
        question.grid,
        question.guards,
        fixed_hz=question.fixed_hz,
        most=question.count,
        budget=budget,
        seed=question.seed,
    )


def _finish(question: _Question, answer: Packing) -> Packing:
    """Let the constraint solver go on where that was asked for and can change the answer."""
    from planner.coordination.exact import SolverMissing, TooManyCentres, solve_exactly
    from planner.errors import Fault, InputFaults

    seconds, count = question.exact_seconds, question.count
    if seconds is None or answer.proven or (count is not None and answer.found >= count):
        return answer
    try:
        solved = solve_exactly(
            question.grid,
            question.guards,
            seconds=seconds,
            fixed_hz=question.fixed_hz,
            start_hz=answer.carriers_hz,
        )
    except (SolverMissing, TooManyCentres) as error:
        fault = Fault(file="command line", where="--exact", value=f"{seconds:g}", advice=str(error))
        raise InputFaults([fault]) from error
    new = [hz for hz in solved.carriers_hz if hz not in question.fixed_hz]
    if count is not None:
        new = new[: max(0, count - len(question.fixed_hz))]
    return dataclasses.replace(
        answer,
        carriers_hz=tuple(sorted((*question.fixed_hz, *new))),
        limit=min(answer.limit, solved.limit),
    )


def _as_document(answer: Packing, guards: GuardSet) -> dict[str, Any]:
    from planner.coordination import PlacedCarrier, nearest_products

    placed = [PlacedCarrier(frequency_hz=hz, guards=guards) for hz in answer.carriers_hz]
    return {
        "carriers_hz": list(answer.carriers_hz),
        "found": answer.found,
        "limit": answer.limit,
        "proven": answer.proven,
        "steps": answer.steps,
        "nearest_products": [
            None if row is None else dataclasses.asdict(row) for row in nearest_products(placed)
        ],
    }


def _as_text(answer: Packing) -> str:
    from planner.units import format_mhz

    cells = [format_mhz(hz) for hz in answer.carriers_hz]
    width = max((len(cell) for cell in cells), default=0)
    lines = ["Carriers [MHz]"]
    for first in range(0, len(cells), _CARRIERS_A_LINE):
        row = cells[first : first + _CARRIERS_A_LINE]
        lines.append("  ".join(cell.rjust(width) for cell in row))
    note = "no set can be larger" if answer.proven else "the best set lies between the two"
    lines.append("")
    lines.append(f"Found {answer.found}, proven upper bound {answer.limit}: {note}.")
    lines.append(f"{answer.steps} candidates tried.")
    return "\n".join(lines)


class _Reader:
    """Reads the options and collects every fault."""

    def __init__(self) -> None:
        self._faults: list[Fault] = []

    def sound(self, grid: Grid | None) -> Grid:
        """Return the grid when nothing was at fault; raise every fault otherwise."""
        from planner.errors import InputFaults

        if self._faults or grid is None:
            raise InputFaults(self._faults)
        return grid

    def khz(self, where: str, text: str) -> int:
        """Return a distance in hertz, 0 when faulty."""
        return self._hertz(where, text, unit="kHz", decimals=3) or 0

    def whole(self, where: str, text: str, *, least: int) -> int | None:
        """Return a whole number, None when left out or faulty."""
        if not text:
            return None
        if not _WHOLE.fullmatch(text.strip()) or int(text) < least:
            self._add(where, text, f"a whole number, {least} or more")
            return None
        return int(text)

    def seconds(self, text: str, *, steps: str) -> float | None:
        """Return the search time, None when left out or faulty."""
        if text and steps:
            self._add("--seconds", text, "either --steps or --seconds", "leave one out")
        return self.time("--seconds", text)

    def time(self, where: str, text: str) -> float | None:
        """Return a time, None when left out or faulty."""
        if not text:
            return None
        if not _NUMBER.fullmatch(text.strip()) or float(text) <= 0:
            self._add(where, text, "a time above 0 s, e.g. 2")
            return None
        return float(text)

    def fixed(self, text: str) -> tuple[int, ...]:
        """Return the fixed carriers, ascending."""
        found: list[int] = []
        for part in text.split(",") if text.strip() else ():
            hertz = self._hertz("--fixed", part, unit="MHz", decimals=6)
            if hertz is None:
                continue
            if hertz in found:
                self._add("--fixed", part.strip(), "each carrier once", "leave one out")
            found.append(hertz)
        return tuple(sorted(found))

    def grid(self, windows: str, step: str, origin: str) -> Grid | None:
        """Return the raster in the windows, overlapping ones merged."""
        from planner.coordination import Grid

        step_hz = self._hertz("--step", step, unit="kHz", decimals=3)
        if step_hz == 0:
            self._add("--step", step, "a raster above 0 kHz, e.g. 25")
        origin_hz = self._hertz("--origin", origin, unit="MHz", decimals=6)
        spans = self._windows(windows)
        if not step_hz or origin_hz is None or not spans:
            return None
        merged: list[tuple[int, int]] = []
        for low, high in sorted(spans):
            if merged and low <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(merged[-1][1], high))
            else:
                merged.append((low, high))
        points = sum(
            (high - origin_hz) // step_hz - -(-(low - origin_hz) // step_hz) + 1
            for low, high in merged
        )
        if points < 1:
            self._add(
                "--windows",
                windows,
                "windows that hold a point of the raster",
                "widen them, or move the raster with --origin",
            )
        elif points > _MOST_POINTS:
            self._add("--step", step, f"at most {_MOST_POINTS:,} points", "take a wider raster")
        else:
            return Grid(origin_hz=origin_hz, step_hz=step_hz, windows_hz=tuple(merged))
        return None

    def _windows(self, text: str) -> list[tuple[int, int]]:
        if not text.strip():
            self._add("--windows", "", "LOW-HIGH in MHz, several with commas, e.g. 470-476")
            return []
        found = []
        for part in text.split(","):
            match = _WINDOW.fullmatch(part)
            if not match:
                self._add("--windows", part.strip() or "an empty one", "LOW-HIGH in MHz")
                continue
            low, high = (
                self._hertz("--windows", edge, unit="MHz", decimals=6) for edge in match.groups()
            )
            if low is None or high is None:
                continue
            if low > high:
                self._add("--windows", part.strip(), "low not above high", "swap them")
                continue
            found.append((low, high))
        return found

    def _hertz(self, where: str, text: str, *, unit: str, decimals: int) -> int | None:
        from planner.units import khz_to_hz, mhz_to_hz

        text = text.strip()
        allowed = f"a number in {unit}, 0 or more, at most {decimals} decimals"
        if not text:
            self._add(where, "", allowed, "give one")
            return None
        if not _NUMBER.fullmatch(text):
            self._add(where, text, allowed)
            return None
        try:
            hertz = mhz_to_hz(text) if unit == "MHz" else khz_to_hz(text)
        except ValueError:
            self._add(where, text, allowed, "nothing finer than 1 Hz")
            return None
        if hertz > _HIGHEST_HZ:
            self._add(where, text, "at most 1,000,000 MHz")
            return None
        return hertz

    def _add(self, where: str, value: str, allowed: str, advice: str = "") -> None:
        from planner.errors import Fault

        self._faults.append(
            Fault(file="command line", where=where, value=value, allowed=allowed, advice=advice)
        )
