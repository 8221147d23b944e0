"""The six marks as a browser shows them, to eyes that see fewer colours and in grey.

Chromium itself simulates the kinds of colour blindness (DevTools protocol,
``Emulation.setEmulatedVisionDeficiency``); here only the picture that comes back is judged.
"""

from __future__ import annotations

import base64
import io
import itertools
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PIL import Image

from planner.report import svg
from planner.report.page_marks import mark_styles
from tests.browser import chromium

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    Picture = NDArray[np.float64]

PROGRAM = chromium.installed()
pytestmark = pytest.mark.skipif(PROGRAM is None, reason="no Chromium is installed here")

WORDS = ("held", "faint", "unlisted", "quiet", "barred", "on-request")
SEEN = ("none", "protanopia", "deuteranopia", "tritanopia", "achromatopsia")
SIDE = 96
"""Side of a swatch [px]: several tiles of every mark."""


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[chromium.Chromium]:
    assert PROGRAM is not None
    with chromium.Chromium(PROGRAM, tmp_path_factory.mktemp("profile")) as opened:
        yield opened


def swatches(browser: chromium.Chromium, page: Path, *, dark: bool, eyes: str) -> list[Picture]:
    """Return how each word's mark looks: lightness 0 to 1 of its pixels."""
    browser.open(page, width=SIDE * len(WORDS), height=SIDE, dark=dark)
    browser.ask("Emulation.setEmulatedVisionDeficiency", type=eyes)
    raw = base64.b64decode(browser.ask("Page.captureScreenshot", format="png")["data"])
    shown = np.asarray(Image.open(io.BytesIO(raw)).convert("L"), dtype=float) / 255
    return [shown[:SIDE, SIDE * at : SIDE * (at + 1)] for at in range(len(WORDS))]


def pattern(picture: Picture) -> Picture:
    """Return the strength of every direction and distance of lines, wherever they begin."""
    flat = picture - picture.mean()
    return np.asarray(np.abs(np.fft.rfft2(flat)) / picture.size)


def apart(one: Picture, other: Picture) -> float:
    """Return how far two marks are apart, in lightness: by their mean or by their lines."""
    lines = float(np.linalg.norm(pattern(one) - pattern(other)))
    return max(abs(float(one.mean() - other.mean())), lines)


@pytest.mark.parametrize("eyes", SEEN)
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_every_two_marks_are_told_apart_by_lightness_alone(
    browser: chromium.Chromium, tmp_path: Path, eyes: str, *, dark: bool
) -> None:
    page = tmp_path / "marks.html"
    boxes = "".join(
        f'<rect x="{SIDE * at}" width="{SIDE}" height="{SIDE}" fill="url(#pg-{word})"/>'
        for at, word in enumerate(WORDS)
    )
    page.write_text(
        f"<!doctype html><style>{mark_styles()} body{{margin:0}} svg{{display:block}}</style>"
        f'<svg width="{SIDE * len(WORDS)}" height="{SIDE}">{svg.patterns("pg")}{boxes}</svg>',
        encoding="utf-8",
    )
    shown = swatches(browser, page, dark=dark, eyes=eyes)
    found = {
        (one, other): apart(shown[a], shown[b])
        for (a, one), (b, other) in itertools.combinations(enumerate(WORDS), 2)
    }
    # a tenth of the way from black to white: twice the step that is sure to be seen in print
    # (common practice, no source)
    assert min(found.values()) >= 0.1, found
