"""The joint choice of ranges on a terminal: why, what comes second, all combinations."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report import words
from planner.report.console import grid, say

if TYPE_CHECKING:
    from rich.console import Console

    from planner.report.views.buying import BuyingView
    from planner.report.views.request import RequestView

SHORT_SEARCH = (
    "Room: carriers found minus those wanted, in a short search that compares; the plan of the "
    "choice is searched for longer."
)
NAME_WIDTH = 12
CHANGES = 4
"""Changes of the choice printed at most."""


def print_joint_choice(console: Console, view: RequestView) -> None:
    """Print why the ranges were chosen together, the runner-up, and what would change it."""
    say(console, f"Why: {view.choice.why}")
    if view.runner_up:
        named = "; ".join(f"{need}: {ranges}" for need, ranges in view.runner_up.ranges)
        say(console, f"Runner-up: {named}. {view.runner_up.why}")
    for line in view.would_change[:CHANGES]:
        say(console, f"Would change it: {line}")


def print_combinations(console: Console, view: BuyingView) -> None:
    """Print the leading combinations with their room at the worst stop, need by need."""
    if not view.combinations:
        return
    say(console, "All needs together", style="bold")
    lines = [
        [
            row.rank + ("*" if row.rank == "1" else ""),
            "\n".join(
                f"{need}: {ranges}".replace(" with ", "\n  with ") for need, ranges in row.ranges
            ),
            row.met,
            row.worst_stop,
            "\n".join(
                f"{words.cut(need, NAME_WIDTH)} {head}"
                for (need, _), head in zip(row.ranges, row.headrooms, strict=True)
            ),
            row.retunes,
        ]
        for row in view.combinations
    ]
    columns = ("#", "Ranges", "Met", "Worst stop", "Room", "Retunes")
    grid(console, columns, lines, "Room|Retunes")
    for row in view.combinations:
        say(console, f"{row.rank}  {row.why}", indent=2)
    say(console, SHORT_SEARCH, indent=2)
    if view.combinations_more:
        say(console, f"and {view.combinations_more} more in plan.json", indent=2)
    say(console)
