"""What every page carries: warnings, cautions, coverage, assumptions and sources."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from typing import Any

from planner.report import words
from planner.report.reading import Plan, names_stop, rows, table

SHA_CHARACTERS = 12


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class WarningView:
    """Warnings of one kind.

    Attributes
    ----------
    examples : tuple of (str, str)
        ``(where, text)`` of the first ones.
    more : int
        How many further ones were left out.
    """

    code: str
    count: int
    examples: tuple[tuple[str, str], ...]
    more: int


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class SourceView:
    """A file the plan was made from."""

    file: str
    rows: str
    issued: str
    sha256: str


@dataclasses.dataclass(frozen=True, kw_only=True, slots=True)
class NotesView:
    """The small print of a page.

    Attributes
    ----------
    own, tour : tuple of WarningView
        Warnings that name this stop, and those that name none.
    settings : tuple of (str, str)
        Every assumption with its unit.
    coverage : tuple of str
        What the tables hold and what they lack.
    """

    own: tuple[WarningView, ...]
    tour: tuple[WarningView, ...]
    cautions: tuple[str, ...]
    coverage: tuple[str, ...]
    settings: tuple[tuple[str, str], ...]
    sources: tuple[SourceView, ...]


def grouped_warnings(warnings: Iterable[Plan], examples: int) -> tuple[WarningView, ...]:
    """Group warnings by code in order of first appearance, the first ones as examples."""
    groups: dict[str, dict[tuple[str, str], None]] = {}
    counts: dict[str, int] = {}
    for row in warnings:
        code = words.clean(row["code"])
        counts[code] = counts.get(code, 0) + 1
        where, text = words.clean(row["where"]), words.clean(row["text"])
        groups.setdefault(code, {}).setdefault((where, text))
    return tuple(
        WarningView(
            code=code,
            count=counts[code],
            examples=tuple(pairs)[:examples],
            more=counts[code] - min(len(pairs), examples),
        )
        for code, pairs in groups.items()
    )


def warnings_of(plan: Plan, stop_id: str | None) -> list[Plan]:
    """Return the warnings that name a stop, or with None those that name no stop at all."""
    every = rows(plan, "warnings")
    if stop_id is not None:
        return [row for row in every if names_stop(str(row["where"]), stop_id)]
    ids = [str(stop["id"]) for stop in rows(plan, "stops")]
    return [row for row in every if not any(names_stop(str(row["where"]), one) for one in ids)]


def _coverage_of(source: Plan) -> str:
    coverage: Any = source.get("coverage")
    if not coverage:
        return ""
    file = words.clean(source["file"])
    issued = f" (issued {words.clean(source['issued'])})" if source.get("issued") else ""
    if not isinstance(coverage, Mapping):
        text = words.setting_value(coverage)
        return f"{file}{issued}: {text}"
    holds = [
        words.listed(words.clean(item) for item in coverage.get(key) or ())
        for key in ("services", "countries")
    ]
    text = f"{file}{issued} holds {holds[0] or 'services not said'}"
    text += f" of {holds[1]}" if holds[1] else ", countries not said"
    if coverage.get("low_mhz") is not None and coverage.get("high_mhz") is not None:
        text += f", {words.mhz_span(coverage['low_mhz'], coverage['high_mhz'])} MHz"
    missing = words.clean(coverage.get("missing_note"))
    return f"{text}. It lacks: {missing.rstrip('.')}." if missing else f"{text}."


def coverage_lines(plan: Plan, stop: Plan | None = None) -> tuple[str, ...]:
    """Write what the loaded tables hold and lack, closing with the one sentence always said.

    A stop's own ``coverage_notes`` go before the claims of the tables.
    """
    lines = [words.clean(line) for line in rows(stop or {}, "coverage_notes")]
    lines = lines or [line for line in map(_coverage_of, rows(plan, "inputs")) if line]
    return (*(line for line in lines if line != words.NEVER_NOTHING), words.NEVER_NOTHING)


def notes_view(plan: Plan, stop: Plan | None = None) -> NotesView:
    """Collect the small print of one stop's pages, or with None of the tour's."""
    tour_examples = 2 if stop is not None else 5
    settings = table(table(plan, "tour"), "settings")
    return NotesView(
        own=grouped_warnings(warnings_of(plan, stop["id"]), 20) if stop is not None else (),
        tour=grouped_warnings(warnings_of(plan, None), tour_examples),
        cautions=tuple(words.clean(caution) for caution in rows(plan, "cautions")),
        coverage=coverage_lines(plan, stop),
        settings=tuple(
            (words.setting_name(key), words.setting_value(value)) for key, value in settings.items()
        ),
        sources=tuple(
            SourceView(
                file=words.clean(row["file"]),
                rows=words.whole(row.get("rows")),
                issued=words.clean(row.get("issued")) or words.NONE,
                sha256=words.clean(row["sha256"])[:SHA_CHARACTERS],
            )
            for row in rows(plan, "inputs")
        ),
    )
