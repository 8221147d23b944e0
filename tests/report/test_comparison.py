"""The comparison on a terminal: 80 columns, no markup taken from names."""

from __future__ import annotations

import copy
import io
from typing import TYPE_CHECKING, Any

from rich.cells import cell_len
from rich.console import Console

from planner.plan.compare import compare_plans
from planner.report.comparison import print_comparison

if TYPE_CHECKING:
    from collections.abc import Mapping


def printed(told: Mapping[str, Any]) -> str:
    out = io.StringIO()
    print_comparison(Console(file=out, width=80), told)
    return out.getvalue()


def changed(plan: dict[str, Any]) -> dict[str, Any]:
    new = copy.deepcopy(plan)
    omaha, chicago = new["stops"][:2]
    omaha["first_date"] = "2027-03-03"
    omaha["licences"] = []
    omaha["carriers"][0]["frequency_mhz"] += 1
    omaha["carriers"][3] |= {"range": "Rowan 518-607.9", "frequency_mhz": 530.0}
    omaha["carriers"][5]["power_mw"] = 10
    omaha["spans"][0] |= {"air": "held", "reasons": [{"code": "contour", "text": "[b]K[/b]"}]}
    chicago["short"] = []
    new["stops"].pop(3)
    new["tour"]["settings"]["use_faint"] = "never"
    new["choice"]["ears"] = []
    new["transmitters"].popitem()
    new["warnings"] = []
    return new


def test_every_part_stands_in_eighty_columns(plan: dict[str, Any]) -> None:
    text = printed(compare_plans(plan, changed(plan)))
    assert [line for line in text.splitlines() if cell_len(line) > 80] == []
    assert "\x1b" not in text
    for part in (
        "dropped: Boise (boise-1), Thu 2027-03-04",
        "setting, use faint spares -> never",
        "first date 2027-03-04 -> 2027-03-03",
        "482.125 -> 483.125",
        "30 mW EIRP ->",
        "came: [b]K[/b]",
        "Missing at Chicago (chicago-1), vocals: 4 before, 0 now",
        "[bold red]",
        "and 28 more; all of them with --json",
    ):
        assert part in text, part


def test_nothing_changed_is_said_in_one_line(plan: dict[str, Any]) -> None:
    text = printed(compare_plans(plan, plan))
    assert text == "Nothing changed: route, verdicts, ranking and carriers are the same.\n"
    newer = plan | {"made": plan["made"] | {"version": "9"}}
    assert "Made otherwise: version 0.1.0 -> 9." in printed(compare_plans(plan, newer))
