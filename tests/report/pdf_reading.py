"""What tests read back from a PDF."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from pypdf import PdfReader

if TYPE_CHECKING:
    from collections.abc import Iterator


def pages_of(raw: bytes) -> list[str]:
    """Return the text of every page, blanks left out: lines of a name may be broken anywhere."""
    return [squeezed(page.extract_text()) for page in PdfReader(io.BytesIO(raw)).pages]


def squeezed(text: str) -> str:
    return "".join(text.split())


def fonts_of(raw: bytes) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield name and descriptor of every font of every page; no descriptor is an empty one."""
    for page in PdfReader(io.BytesIO(raw)).pages:
        resources = page["/Resources"].get_object()
        for font in resources["/Font"].get_object().values():
            found = font.get_object()
            descriptor = found.get("/FontDescriptor")
            yield found["/BaseFont"], descriptor.get_object() if descriptor else {}
