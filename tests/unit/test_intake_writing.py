"""Files are written whole or not at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from planner.errors import InputFaults
from planner.intake.writing import write_text_atomically, write_texts_atomically

if TYPE_CHECKING:
    from pathlib import Path


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_file_is_written_and_replaced_with_its_mode(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    write_text_atomically(path, "ä\r\n")
    assert path.read_bytes() == "ä\r\n".encode()
    path.chmod(0o640)
    write_text_atomically(path, "b\n")
    assert path.read_text(encoding="utf-8") == "b\n"
    assert path.stat().st_mode & 0o777 == 0o640
    assert names(tmp_path) == ["a.csv"]


def test_no_file_is_put_in_place_when_one_cannot_be_written(tmp_path: Path) -> None:
    first = tmp_path / "a.csv"
    first.write_text("old", encoding="utf-8")
    with pytest.raises(InputFaults, match=r"gone/b\.csv; got cannot be written"):
        write_texts_atomically({first: "new", tmp_path / "gone" / "b.csv": "new"})
    assert first.read_text(encoding="utf-8") == "old"
    assert names(tmp_path) == ["a.csv"]


def test_a_text_that_cannot_be_encoded_leaves_nothing_behind(tmp_path: Path) -> None:
    with pytest.raises(UnicodeEncodeError, match="surrogates not allowed"):
        write_text_atomically(tmp_path / "a.csv", "\ud800")
    assert names(tmp_path) == []


def test_a_folder_is_never_replaced(tmp_path: Path) -> None:
    (tmp_path / "a.csv").mkdir()
    with pytest.raises(InputFaults, match="it is a folder"):
        write_text_atomically(tmp_path / "a.csv", "x")
    assert names(tmp_path) == ["a.csv"]
