"""Scripts written from right to left: letters joined, and put in the order in which they show.

A short form of the Unicode Bidirectional Algorithm (Unicode Standard Annex 9: implicit levels,
no embeddings, since :func:`planner.report.words.clean` leaves no direction marks), and Arabic
letters joined by the presentation forms that the Unicode Character Database decomposes.
"""

from __future__ import annotations

import functools
import unicodedata

_RIGHT = frozenset({"R", "AL"})
_NUMBERS = frozenset({"EN", "AN"})
_FORMS = ("isolated", "final", "initial", "medial")
_MIRRORED = dict(zip("()[]{}<>«»", ")(][}{><»«", strict=True))
_TATWEEL = "\u0640"


def has_right_to_left(text: str) -> bool:
    """Say whether anything of a text goes from right to left: a letter, or an Arabic figure."""
    return not text.isascii() and any(unicodedata.bidirectional(c) in {*_RIGHT, "AN"} for c in text)


def as_shown(text: str) -> str:
    """Return a text in the order from left to right in which it shows, Arabic letters joined.

    A text without letters from right to left comes back unchanged.
    """
    if not has_right_to_left(text):
        return text
    clusters = _clusters(joined(text))
    levels = _levels([cluster[0] for cluster in clusters])
    for level in range(max(levels), 0, -1):
        clusters, levels = _reversed_runs(clusters, levels, level)
    return "".join(
        _MIRRORED.get(cluster, cluster) if level % 2 else cluster
        for cluster, level in zip(clusters, levels, strict=True)
    )


def _clusters(text: str) -> list[str]:
    """Split a text into letters with the marks that follow them."""
    out: list[str] = []
    for character in text:
        if out and unicodedata.bidirectional(character) == "NSM":
            out[-1] += character
        else:
            out.append(character)
    return out


def _levels(letters: list[str]) -> list[int]:
    """Give every letter its level; the first strong letter decides the direction of the whole."""
    kinds = _weak([unicodedata.bidirectional(letter) for letter in letters])
    base = int(next((kind for kind in kinds if kind in _RIGHT or kind == "L"), "L") in _RIGHT)
    sides: list[int | None] = []
    strong = base
    for kind in kinds:
        if kind in _RIGHT or kind == "L":
            strong = int(kind in _RIGHT)
            sides.append(strong)
        else:
            sides.append(1 if kind == "AN" else strong if kind == "EN" else None)
    out = []
    for index, (kind, side) in enumerate(zip(kinds, sides, strict=True)):
        resolved = _between(sides, index, base) if side is None else side
        number = kind in _NUMBERS and resolved == 1
        out.append(2 if number else 1 if resolved else 2 * base)
    return out


def _weak(kinds: list[str]) -> list[str]:
    """Count the signs inside and beside a number as part of it (rules W2, W4 and W5)."""
    out = list(kinds)
    arabic = False
    for index, kind in enumerate(kinds):
        if kind in _RIGHT or kind == "L":
            arabic = kind == "AL"
        elif kind == "EN" and arabic:
            out[index] = "AN"
    for index in range(1, len(out) - 1):
        around = {out[index - 1], out[index + 1]}
        if (out[index] == "ES" and around == {"EN"}) or (
            out[index] == "CS" and around in ({"EN"}, {"AN"})
        ):
            out[index] = out[index - 1]
    for path in (range(len(out)), range(len(out) - 1, -1, -1)):
        before = ""
        for index in path:
            if out[index] == "ET" and before == "EN":
                out[index] = "EN"
            before = out[index]
    return out


def _between(sides: list[int | None], index: int, base: int) -> int:
    """Return the side of a blank or a sign: that of its neighbours where they agree."""
    before = next((side for side in reversed(sides[:index]) if side is not None), base)
    after = next((side for side in sides[index + 1 :] if side is not None), base)
    return before if before == after else base


def _reversed_runs(
    clusters: list[str], levels: list[int], level: int
) -> tuple[list[str], list[int]]:
    """Turn every run of at least ``level`` around."""
    order: list[int] = []
    run: list[int] = []
    for index, own in enumerate(levels):
        if own >= level:
            run.append(index)
        else:
            order += [*reversed(run), index]
            run = []
    order += reversed(run)
    return [clusters[at] for at in order], [levels[at] for at in order]


@functools.cache
def _arabic_forms() -> dict[str, dict[str, str]]:
    """Return the forms of every Arabic letter and of lam with alef, by what they decompose to."""
    out: dict[str, dict[str, str]] = {}
    for code in (*range(0xFB50, 0xFBFE), *range(0xFE70, 0xFEFD)):
        form, *letters = unicodedata.decomposition(chr(code)).split()[:3] or [""]
        name = form.strip("<>")
        plain = "".join(chr(int(letter, 16)) for letter in letters)
        if name in _FORMS and (len(plain) == 1 or plain[:1] == "\u0644") and " " not in plain:
            out.setdefault(plain, {}).setdefault(name, chr(code))
    return {
        plain: forms
        for plain, forms in out.items()
        if len(plain) == 1 or (len(plain) == 2 and plain[1] in "\u0622\u0623\u0625\u0627")
    }


def joined(text: str) -> str:
    """Replace Arabic letters by the forms in which they join their neighbours."""
    forms = _arabic_forms()
    letters = _ligated(_clusters(text), forms)
    out = []
    for index, cluster in enumerate(letters):
        own = forms.get(cluster[: 2 if cluster[:2] in forms else 1])
        if own is None:
            out.append(cluster)
            continue
        plain = 2 if cluster[:2] in forms else 1
        before = index > 0 and _joins(letters[index - 1], "initial", forms)
        after = index + 1 < len(letters) and _joins(letters[index + 1], "final", forms)
        back, ahead = before and "final" in own, after and "initial" in own
        name = "medial" if back and ahead and "medial" in own else ""
        name = name or ("final" if back else "initial" if ahead else "isolated")
        out.append(own.get(name, cluster[:plain]) + cluster[plain:])
    return "".join(out)


def _joins(cluster: str, form: str, forms: dict[str, dict[str, str]]) -> bool:
    """Say whether a neighbour reaches out to this side."""
    if cluster[0] == _TATWEEL:
        return True
    own = forms.get(cluster[: 2 if cluster[:2] in forms else 1], {})
    return form in own or ("medial" in own)


def _ligated(clusters: list[str], forms: dict[str, dict[str, str]]) -> list[str]:
    """Put lam and the alef after it into one cluster, as Arabic always writes them."""
    out: list[str] = []
    for cluster in clusters:
        if out and out[-1] == "\u0644" and out[-1] + cluster[0] in forms:
            out[-1] += cluster
        else:
            out.append(cluster)
    return out
