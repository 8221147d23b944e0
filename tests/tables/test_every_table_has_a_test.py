"""Every table has a sidecar that fits it, and a test of its own."""

from __future__ import annotations

import hashlib
from importlib import resources
from pathlib import Path

import pytest

from planner.tables import TableError, read_sidecar, read_table, table_names

TEXT_KEYS = ("document", "section", "edition", "date", "how_obtained", "licence")


def csv_bytes(name: str) -> bytes:
    return (resources.files("planner.tables") / f"{name}.csv").read_bytes()


def test_there_are_tables() -> None:
    assert {"fcc_r6602_curves", "itu_p2109_coefficients"} <= set(table_names())


@pytest.mark.parametrize("name", table_names())
def test_sidecar_fits_its_table(name: str) -> None:
    sidecar = read_sidecar(name)
    for key in TEXT_KEYS:
        assert sidecar[key].strip(), key
    assert sidecar["status"] in {"confirmed", "from memory"}
    assert sidecar["sha256"] == hashlib.sha256(csv_bytes(name)).hexdigest()
    assert list(sidecar["columns"]) == list(read_table(name))
    assert all(text.strip() for text in sidecar["columns"].values())


@pytest.mark.parametrize("name", table_names())
def test_table_has_a_test(name: str) -> None:
    assert (Path(__file__).parent / f"test_{name}.py").is_file()


@pytest.mark.parametrize("name", table_names())
def test_table_is_plain_text_with_unix_lines(name: str) -> None:
    data = csv_bytes(name)
    assert b"\r" not in data
    assert data.endswith(b"\n")
    data.decode("ascii")


def test_no_sidecar_without_a_table() -> None:
    files = [file.name for file in resources.files("planner.tables").iterdir()]
    sidecars = {name.removesuffix(".toml") for name in files if name.endswith(".toml")}
    assert sidecars == set(table_names())


def test_unknown_table_is_named() -> None:
    with pytest.raises(TableError, match=r"table no_such: no_such\.csv is not in the package"):
        read_table("no_such")
    with pytest.raises(TableError, match=r"table no_such: no_such\.toml is not in the package"):
        read_sidecar("no_such")


def test_tables_are_read_once_and_cannot_be_changed() -> None:
    table = read_table("itu_p2109_coefficients")
    assert read_table("itu_p2109_coefficients") is table
    with pytest.raises(TypeError, match="does not support item assignment"):
        table["r"] = ()  # type: ignore[index]
