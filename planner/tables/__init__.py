"""Normative figures from standards and rules, shipped as CSV files with a sidecar each.

A table ``<name>.csv`` stands beside ``<name>.toml``, which says where its figures come from:
``document``, ``section``, ``edition``, ``date``, ``how_obtained``, ``licence``, ``status``
(``"confirmed"`` or ``"from memory"``), ``columns`` (each with its unit and meaning) and the
``sha256`` of the CSV file.
"""

from __future__ import annotations

import csv
import functools
import io
import tomllib
from importlib import resources
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from planner.errors import PlannerError

if TYPE_CHECKING:
    from collections.abc import Mapping


class TableError(PlannerError):
    """A table of the package that is missing or damaged.

    Parameters
    ----------
    name : str
        Name of the table.
    problem : str
        What is wrong with it.
    """

    def __init__(self, name: str, problem: str) -> None:
        self.name = name
        self.problem = problem
        super().__init__(f"table {name}: {problem}; reinstall the package")


def table_names() -> tuple[str, ...]:
    """Return the names of all tables of the package, in alphabetical order."""
    files = resources.files(__name__).iterdir()
    return tuple(sorted(file.name[: -len(".csv")] for file in files if file.name.endswith(".csv")))


@functools.cache
def read_table(name: str) -> Mapping[str, tuple[str, ...]]:
    """Read a table of the package, once.

    Parameters
    ----------
    name : str
        File name without ``.csv``, e.g. ``"us_tv_raster"``.

    Returns
    -------
    mapping of str to tuple of str
        Columns by name, in the order of the file, all of one length; cells are the text of the
        file, empty where it says nothing. Read-only and shared by all callers.

    Raises
    ------
    TableError
        When there is no such table or its rows differ in length.
    """
    try:
        header, *rows = csv.reader(io.StringIO(_text(f"{name}.csv", name)), strict=True)
        cells = list(zip(*rows, strict=True)) or [()] * len(header)
        return MappingProxyType(dict(zip(header, cells, strict=True)))
    except (csv.Error, ValueError) as error:
        raise TableError(name, f"its rows do not fit its header ({error})") from error


@functools.cache
def read_sidecar(name: str) -> Mapping[str, Any]:
    """Read what is known about a table: document, edition, licence, status, columns.

    Parameters
    ----------
    name : str
        File name without ``.toml``.

    Returns
    -------
    mapping
        Keys of the sidecar. Read-only and shared by all callers.

    Raises
    ------
    TableError
        When there is no such sidecar or it is not TOML.
    """
    try:
        return MappingProxyType(tomllib.loads(_text(f"{name}.toml", name)))
    except tomllib.TOMLDecodeError as error:
        raise TableError(name, f"its sidecar is not TOML ({error})") from error


def _text(file_name: str, name: str) -> str:
    try:
        return (resources.files(__name__) / file_name).read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise TableError(name, f"{file_name} is not in the package") from error
