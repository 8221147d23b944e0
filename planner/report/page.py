"""The tour page: one HTML text that holds its data, its scripts and the library they draw with.

User text enters in one place only, as JSON inside a ``script`` element of a data type, in which
``<`` never stands; the scripts put it on the page as text. A policy in the page's head lets
nothing run but the scripts that were put in here, and lets nothing be fetched.
"""

from __future__ import annotations

import base64
import dataclasses
import functools
import hashlib
import json
from importlib import resources
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from planner.report import svg, words
from planner.report.page_marks import mark_styles
from planner.report.views.page import page_view

if TYPE_CHECKING:
    from collections.abc import Mapping

    import jinja2

    from planner.report.reading import Plan

SCRIPTS = (
    "start", "tables", "axis", "pictures", "spectrum", "route", "map", "ranges", "find", "stop",
    "run",
)  # fmt: skip
"""Our scripts in the order in which they stand on the page."""


@functools.cache
def _environment() -> jinja2.Environment:
    import jinja2

    return jinja2.Environment(
        autoescape=True,
        loader=jinja2.PackageLoader("planner.report"),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _plain(record: Any) -> dict[str, Any]:  # noqa: ANN401 - whatever json meets
    """Give json the fields of a record."""
    return {field.name: getattr(record, field.name) for field in dataclasses.fields(record)}


def data_text(view: object) -> str:
    """Write a view record as JSON that can stand inside a ``script`` element.

    ``<``, ``>`` and ``&`` and the two line separators of Unicode are written as escapes, so that
    no name can end the element, and no character stands for itself but printable ones.
    """
    text = json.dumps(view, default=_plain, ensure_ascii=False, separators=(",", ":"))
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text


@functools.cache
def library() -> str:
    """Return the drawing library with its licence before it, as it stands on the page."""
    folder = resources.files("planner.report") / "vendor"
    licence = (folder / "d3.LICENSE.txt").read_text(encoding="utf-8").replace("*/", "* /")
    code = (folder / "d3.min.js").read_text(encoding="utf-8")
    return f"/*! Licences of d3 and of what it holds.\n\n{licence}*/\n{code}"


@functools.cache
def scripts() -> str:
    """Return our own scripts as one text; nothing of them is seen by other scripts."""
    folder = resources.files("planner.report") / "page_scripts"
    parts = [(folder / f"{name}.js").read_text(encoding="utf-8") for name in SCRIPTS]
    return '(function () {\n"use strict";\n' + "\n".join(parts) + "}());\n"


def digest(text: str) -> str:
    """Return a text's SHA-256 as a content security policy names it."""
    found = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
    return f"'sha256-{found}'"


def policy(styles: str) -> str:
    """Return the page's policy: its own scripts and styles by their digests, nothing else."""
    code = f"{digest(library())} {digest(scripts())}"
    return (
        f"default-src 'none'; script-src {code}; style-src {digest(styles)}; "
        "base-uri 'none'; form-action 'none'"
    )


def _counts(cautions: int, warnings: int) -> str:
    """Count cautions and warnings for the line that is always in sight; empty without any."""
    counted = ((cautions, "caution"), (warnings, "warning"))
    text = words.listed(words.plural(count, noun) for count, noun in counted if count)
    return f"{text}." if text else ""


def tour_page(plan: Plan, sheets: Mapping[str, str]) -> str:
    """Return the tour page as one HTML text.

    Parameters
    ----------
    plan : mapping
        A valid plan, as ``json.load`` gives it.
    sheets : mapping of str to str
        File name of every played stop's sheet, beside the page, by stop id.
    """
    view = page_view(plan, sheets)
    make = _environment().get_template
    marks = Markup(mark_styles())  # noqa: S704 - our own colours
    styles = make("tour.css.j2").render(marks=marks)
    return make("tour.html.j2").render(
        view=view,
        policy=policy(styles),
        styles=Markup(styles),  # noqa: S704 - our own
        library=Markup(library()),  # noqa: S704 - the vendored file
        scripts=Markup(scripts()),  # noqa: S704 - our own
        data=Markup(data_text(view)),  # noqa: S704 - escaped there
        patterns=Markup(svg.patterns("pg")),  # noqa: S704 - our own
        counts=_counts(len(view.cautions), len(view.warnings)),
        listen=words.NOT_A_PERMISSION,
        never=words.NEVER_NOTHING,
    )
