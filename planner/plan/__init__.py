"""Run all stages and hold the record of a plan."""

from planner.plan.document import InputFile, plan_document
from planner.plan.pipeline import PlanResult, run_plan
from planner.plan.previous import Previous
from planner.plan.text import plan_text

__all__ = ["InputFile", "PlanResult", "Previous", "plan_document", "plan_text", "run_plan"]
