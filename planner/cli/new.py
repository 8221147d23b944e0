"""``passband new``: a folder to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def new_command(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make; must be new.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print what was made as JSON.")] = False,
) -> None:
    """Make a folder with a tour file, a gear catalogue and a station table to replace.

    Example: passband new my-tour
    """
    from planner.cli.running import print_json
    from planner.demo import FILES, demo_files
    from planner.errors import Fault, InputFaults
    from planner.intake.writing import write_texts_atomically

    if folder.exists() and any(folder.iterdir() if folder.is_dir() else [folder]):
        raise InputFaults(
            [
                Fault(
                    file=str(folder),
                    value="a file" if folder.is_file() else "a folder that is not empty",
                    allowed="a new or an empty folder",
                    advice="name another one",
                )
            ]
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        fault = Fault(
            file=str(folder),
            value=f"cannot be made: {reason}",
            allowed="a folder that can be written",
            advice="name another one",
        )
        raise InputFaults([fault]) from error
    with demo_files() as source:
        texts = {folder / name: (source / name).read_text(encoding="utf-8") for name in FILES}
    write_texts_atomically(texts)
    if as_json:
        print_json({"folder": str(folder), "files": list(FILES)})
        return
    typer.echo(f"Made {folder}: {', '.join(FILES)}")
    typer.echo(
        "Everything in them is invented. Replace stations.csv (passband stations FILE --from"
    )
    typer.echo("FORMAT --out stations.csv), gear.csv and the stops, then: passband check tour.toml")
