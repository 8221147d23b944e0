"""Reports: terminal tables, pages, pictures and CSV made from a plan; nothing is computed here.

Every function takes the plan as ``json.load`` of plan.json gives it and returns text or prints
on a console it is given; writing files belongs to the caller.
"""

from __future__ import annotations

from planner.report.files import render_all

__all__ = ["render_all"]
