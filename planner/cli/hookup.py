"""``passband hookup``: the rest of the rig, and whether it works."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner.cli.memory import without_collector

if TYPE_CHECKING:
    from planner.intake.hookup_options import HookupOptions

EXIT_LIMITS = 3


@without_collector()
def hookup_command(
    tour: Annotated[
        Path | None, typer.Argument(metavar="[TOUR]", help="A tour file with [hookup].")
    ] = None,
    receivers: Annotated[
        list[int] | None, typer.Option(help="Receivers; once for each --range.")
    ] = None,
    span: Annotated[
        list[str] | None, typer.Option("--range", metavar="LOW-HIGH", help="Their range, in MHz.")
    ] = None,
    cable: Annotated[str, typer.Option(help="Cable: a part, or a general type.")] = "RG-8X",
    cable_m: Annotated[float, typer.Option(help="Length of an antenna cable, m.")] = 30.0,
    antenna: Annotated[
        str, typer.Option(help="Antenna: a part; default the first that serves.")
    ] = "",
    parts: Annotated[
        Path | None, typer.Option(help="Your parts catalogue; default invented parts.")
    ] = None,
    racks: Annotated[int, typer.Option(help="Racks to spread the receivers over.")] = 1,
    channels: Annotated[
        int, typer.Option("--channels-per-receiver", help="Channels that share antenna inputs.")
    ] = 1,
    distribution: Annotated[str, typer.Option(help="any, powered or passive.")] = "any",
    zones: Annotated[int, typer.Option(help="Antennas joined on each branch.")] = 1,
    near_m: Annotated[float, typer.Option(help="Antennas to the near edge of the stage, m.")] = 3.0,
    far_m: Annotated[float, typer.Option(help="To the far edge, m.")] = 25.0,
    power_mw: Annotated[float, typer.Option(help="Power of a transmitter, mW.")] = 10.0,
    snr: Annotated[float, typer.Option(help="Signal-to-noise ratio wanted, dB.")] = 20.0,
    in_ears: Annotated[int, typer.Option(help="In-ear transmitters.")] = 0,
    in_ear_range: Annotated[
        str, typer.Option(metavar="LOW-HIGH", help="Their range, in MHz.")
    ] = "",
    mains: Annotated[str, typer.Option(help="Country of the mains, e.g. US.")] = "",
    out: Annotated[
        Path | None, typer.Option("--out", help="New folder for page, drawings, parts list.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Design antennas, cables and distribution, and show the level at every receiver.

    Example: passband hookup --receivers 16 --range 470-534 --cable RG-8X --cable-m 50
    """
    from planner.cli.running import console, print_json
    from planner.intake.hookup_options import HookupOptions
    from planner.report.hookup_terminal import print_hookup

    if tour is not None:
        if receivers or span or parts:
            raise typer.BadParameter("--receivers, --range, --parts: a tour file names its own")
        document, title = _of_tour(tour)
    else:
        options = HookupOptions(
            receivers=tuple(receivers or ()),
            ranges=tuple(span or ()),
            cable=cable,
            cable_m=cable_m,
            antenna=antenna,
            channels_per_receiver=channels,
            racks=racks,
            distribution=distribution,
            zones=zones,
            near_m=near_m,
            far_m=far_m,
            power_mw=power_mw,
            required_snr_db=snr,
            in_ears=in_ears,
            in_ear_range=in_ear_range,
            mains=mains,
        )
        document, title = _of_options(options, parts), "Hook-up"
    if out is not None:
        _write(out, document, title)
    if as_json:
        print_json(document)
    else:
        screen = console()
        print_hookup(screen, document)
        if out is not None:
            screen.print(f"Written to {out}", soft_wrap=True, markup=False)
    if not document["meets"]:
        raise typer.Exit(EXIT_LIMITS)


def _of_tour(tour: Path) -> tuple[dict[str, Any], str]:
    from planner.cli.running import run_tour
    from planner.errors import Fault, InputFaults

    _, document = run_tour(tour, effort="normal")
    if document["hookup"] is None:
        raise InputFaults(
            [
                Fault(
                    file=tour.name,
                    where="[hookup]",
                    value="no such table, or no receivers for it",
                    allowed='[hookup] with parts = "parts.csv" and cable = "..."',
                    advice="add it, or ask without a tour: --receivers N --range LOW-HIGH",
                )
            ]
        )
    return document["hookup"], str(document["tour"]["name"])


def _write(folder: Path, document: dict[str, Any], title: str) -> None:
    """Write page, drawings and tables into a new or empty folder."""
    from planner.errors import Fault, InputFaults
    from planner.report.hookup_page import hookup_files, hookup_pdf

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
        said = {"title": title, "issue": "without a plan", "paper": "a4"}
        files = hookup_files(document, **said)
        files["sheets/hookup.pdf"] = hookup_pdf(document, **said)
        for name, content in files.items():
            target = folder / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content if isinstance(content, bytes) else content.encode())
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise InputFaults(
            [
                Fault(
                    file=str(folder),
                    value=f"cannot be written: {reason}",
                    allowed="a folder that can be written",
                    advice="name another one",
                )
            ]
        ) from error


def _of_options(options: HookupOptions, parts: Path | None) -> dict[str, Any]:
    from planner.demo import demo_files
    from planner.hookup.document import hookup_document
    from planner.hookup.rig import design_hookup
    from planner.intake.hookup_options import request_from_options
    from planner.intake.parts import load_parts

    if parts is not None:
        rows, name = load_parts(parts), parts.name
    else:
        with demo_files() as folder:
            rows, name = load_parts(folder / "parts.csv", name="parts.csv"), "the invented parts"
    document = hookup_document(design_hookup(request_from_options(options, rows, parts_file=name)))
    if parts is None:
        document["practice"].insert(
            0, "The parts are invented: name your own catalogue with --parts before you order."
        )
    return document
