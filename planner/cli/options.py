"""Arguments and options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

TourFile = Annotated[Path, typer.Argument(help="The tour file (TOML).")]
Effort = Annotated[str, typer.Option("--effort", help="quick, normal or long.")]
Strict = Annotated[bool, typer.Option("--strict", help="Warnings stop the run.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")]
