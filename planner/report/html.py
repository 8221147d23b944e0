"""View records to pages: self-contained HTML that prints well and asks no network."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from markupsafe import Markup

from planner.report import words
from planner.report.pictures import carrier_picture, stop_picture
from planner.report.reading import rows, table
from planner.report.route_picture import depth_picture
from planner.report.views.buying import buying_view
from planner.report.views.hookup import stop_hookup_lines
from planner.report.views.stop import stop_view

if TYPE_CHECKING:
    import jinja2

    from planner.report.reading import Plan

PAPERS = {"a4": "A4", "letter": "letter"}


def css_string(text: str) -> Markup:
    """Return user text as a CSS string: everything but letters, figures and blanks as an escape."""
    out = []
    for character in text:
        plain = character.isascii() and (character.isalnum() or character == " ")
        out.append(character if plain else f"\\{ord(character):06x} ")
    return Markup(f'"{"".join(out)}"')  # noqa: S704 - nothing but escapes is left


@functools.cache
def environment() -> jinja2.Environment:
    """Return the templates of the pages, with escaping on."""
    import jinja2

    environment = jinja2.Environment(
        autoescape=True,
        loader=jinja2.PackageLoader("planner.report"),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["css_string"] = css_string
    environment.globals["words"] = {
        "air": words.AIR_MEANS,
        "law": words.LAW_MEANS,
        "caution": words.NOT_A_PERMISSION,
        "papers": PAPERS,
    }
    return environment


def stop_page(plan: Plan, stop: Plan) -> str:
    """Return the sheet of one stop as one HTML text."""
    picture = Markup(stop_picture(plan, stop))  # noqa: S704 - escaped where it is drawn
    closer = Markup(carrier_picture(plan, stop))  # noqa: S704 - escaped where it is drawn
    template = environment().get_template("stop.html.j2")
    return template.render(
        view=stop_view(plan, stop),
        picture=picture,
        closer=closer,
        hookup=stop_hookup_lines(plan, stop),
    )


def buying_page(plan: Plan) -> str:
    """Return the buying summary as one HTML text."""
    picture = Markup(depth_picture(plan))  # noqa: S704 - escaped where it is drawn
    template = environment().get_template("buying.html.j2")
    hookup = table(plan, "hookup")
    parts = rows(hookup, "parts")
    return template.render(view=buying_view(plan), picture=picture, hookup=parts)
