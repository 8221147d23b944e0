"""The joint choice: which ranges serve all needs together."""

from planner.joint.choosing import KEPT, as_planned, choose, choose_after, options
from planner.joint.records import Combination, JointChoice, Question

__all__ = [
    "KEPT",
    "Combination",
    "JointChoice",
    "Question",
    "as_planned",
    "choose",
    "choose_after",
    "options",
]
