"""Spellings of place names: what makes two of them the same, and which may stand in a list."""

from __future__ import annotations

import itertools
import json
import re
import unicodedata

_ACCENTS = re.compile("[\u0300-\u036f]")
_NOT_A_LETTER = re.compile(r"[^\w\n]+|_+")
_ABBREVIATIONS = (
    (re.compile(r"\b(?:st|ste|sainte)\b"), "saint"),
    (re.compile(r"\bft\b"), "fort"),
    (re.compile(r"\bmt\b"), "mount"),
)
_LETTERS = (
    ("ø", "o"),
    ("ł", "l"),
    ("đ", "d"),
    ("ð", "d"),
    ("æ", "ae"),
    ("œ", "oe"),
    ("þ", "th"),
    ("\u0131", "i"),
)
_WRITTEN_OUT = (("ae", "a"), ("oe", "o"), ("ue", "u"))
_SPELLINGS = {
    "saint": ("saint", "st.", "st", "ste.", "sainte"),
    "fort": ("fort", "ft.", "ft"),
    "mount": ("mount", "mt.", "mt"),
}
_SPELLING_OF = {
    spelling.rstrip("."): word for word, spellings in _SPELLINGS.items() for spelling in spellings
}


def name_keys(lines: str) -> list[str]:
    """Return what stays of names once case, accents, blanks and punctuation are gone.

    Two names are the same when their keys are equal. "St." and "Ste." read as "Saint", "Ft." as
    "Fort", "Mt." as "Mount". One call for many names, because a list has hundreds of thousands.

    Parameters
    ----------
    lines : str
        One name a line.

    Returns
    -------
    list of str
        One key a line, e.g. ``"saintlouis"`` for ``"St. Louis"``.
    """
    text = unicodedata.normalize("NFKD", lines).casefold()
    text = _ACCENTS.sub("", text)
    for letter, plain in _LETTERS:
        text = text.replace(letter, plain)
    text = _NOT_A_LETTER.sub(" ", text)
    for pattern, word in _ABBREVIATIONS:
        text = pattern.sub(word, text)
    return text.replace(" ", "").split("\n")


def name_key(name: str) -> str:
    """Return the key of one name; see :func:`name_keys`."""
    return name_keys(" ".join(name.split()))[0]


def key_without_written_umlauts(key: str) -> str:
    """Return a key in which ``ae``, ``oe``, ``ue`` stand for the letters with two dots."""
    for written, plain in _WRITTEN_OUT:
        key = key.replace(written, plain)
    return key


def slug(name: str) -> str:
    """Return a name in small ASCII letters, figures and hyphens, fit for a file name.

    Empty when nothing of the name can be written that way.
    """
    text = unicodedata.normalize("NFKD", name).casefold()
    for letter, plain in _LETTERS:
        text = text.replace(letter, plain)
    text = _ACCENTS.sub("", text).replace("'", "").replace("\u2019", "")
    return re.sub(r"[^a-z0-9]+", "-", text).strip("-")


def needles(name: str) -> tuple[bytes, ...]:
    """Return the ways in which a name may be written in the text of a lowered city list.

    Each is a JSON string in quotes, ASCII, lower case: as typed, capitalised, without accents,
    and with every usual spelling of Saint, Fort and Mount.
    """
    name = " ".join(name.split())
    bare = _ACCENTS.sub("", unicodedata.normalize("NFKD", name))
    found: dict[bytes, None] = {}
    for text in (name, name.title(), bare):
        choices = [
            _SPELLINGS.get(_SPELLING_OF.get(word.casefold().rstrip("."), ""), (word,))
            for word in text.split()
        ]
        for words in itertools.islice(itertools.product(*choices), 25):
            found[json.dumps(" ".join(words)).lower().encode("ascii")] = None
    return tuple(found)
