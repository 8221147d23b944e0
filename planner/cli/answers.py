"""Plan a tour with the answer of a coordinator, and judge the answer by that plan."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from planner.cli.request_files import unknown
from planner.cli.running import read_tour, run_loaded
from planner.errors import InputFaults
from planner.intake.tour_files import sha256_of
from planner.plan import InputFile
from planner.plan.reply_clashes import judge_reply
from planner.plan.reply_document import reply_document
from planner.plan.reply_match import ReplyQuestion, assigned_of, match_rows, with_names_kept
from planner.report.words import clean

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from planner.cli.earlier import EarlierPlan
    from planner.coordination.records import Effort
    from planner.intake.reply import Reply
    from planner.plan import PlanResult


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class Answered:
    """A plan made with an answer, and what became of the answer."""

    result: PlanResult
    document: dict[str, Any]
    answer: dict[str, Any]


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class AnswerFile:
    """An answer and where it belongs.

    Attributes
    ----------
    path : Path
        The file.
    reply : Reply
        What was read of it.
    stop : str
        Id of the stop it is for.
    need : str
        The need of rows that name none; empty where the user does not say it either.
    reference : str
        Licence number or message of rows that have none of their own.
    """

    path: Path
    reply: Reply
    stop: str
    need: str = ""
    reference: str = ""


def plan_with(
    tour: Path, came: AnswerFile, *, effort: Effort, before: EarlierPlan | None
) -> Answered:
    """Plan a tour with an answer.

    Parameters
    ----------
    tour : Path
        The tour file.
    came : AnswerFile
        The answer.
    effort : str
        ``"quick"``, ``"normal"`` or ``"long"``.
    before : EarlierPlan or None
        The plan that the request was made of: what nobody answered for is kept from it.

    Raises
    ------
    InputFaults
        Every fault of the tour's files; when the tour has no such stop or need; with every
        frequency of which nobody can tell for which need it is.
    """
    loaded = read_tour(tour)
    stops = {stop.id: stop for stop in loaded.tour.stops if stop.status != "cancelled"}
    if came.stop not in stops:
        raise InputFaults([unknown("STOP", came.stop, list(stops))])
    question = ReplyQuestion(
        tour=loaded.tour,
        stop=stops[came.stop],
        gear=loaded.gear,
        need=came.need,
        file=came.path.name,
        tidy=clean,
    )
    matched = match_rows(came.reply.rows, question)
    given = assigned_of(matched, question, reference=came.reference)
    with_given = dataclasses.replace(loaded.tour, assigned=(*loaded.tour.assigned, *given))
    whole = dataclasses.replace(loaded, tour=with_given)
    file = InputFile(file=came.path.name, sha256=sha256_of(came.path), rows=len(came.reply.rows))
    known = before.document if before else None
    kept = with_names_kept(known, matched, question, choice=_choice(known or {}))
    result, document = run_loaded(whole, effort=effort, before=before, kept=kept, more=[file])
    again = with_names_kept(known, matched, question, choice=_choice(document))
    if again != kept:  # another range serves a need: its lines are known by name only now
        result, document = run_loaded(whole, effort=effort, before=before, kept=again, more=[file])
    index = [stop.id for stop in result.stops].index(came.stop)
    judged = judge_reply(result, index, matched, only=came.need)
    answer = reply_document(
        result, index, judged, given, file=came.path.name, notes=came.reply.notes
    )
    return Answered(result=result, document=document, answer=answer)


def _choice(document: Mapping[str, Any]) -> dict[str, list[str]]:
    """Return the ranges that a plan chose, by need; an earlier plan may hold none."""
    choice = document.get("choice")
    if not isinstance(choice, dict):
        return {}
    return {
        need: [keys] if isinstance(keys, str) else list(keys or ()) for need, keys in choice.items()
    }
