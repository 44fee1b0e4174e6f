"""``lehrling trace``: the file of another logger, understood, and written as Lehrling's own kind of trace."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from daemon.subcommand import Command

if TYPE_CHECKING:
    from datetime import datetime

    from daemon.foreign_traces.readings import Readings
    from daemon.foreign_traces.understanding import Understanding

def _configure(parser: argparse.ArgumentParser) -> None:
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)
    show = actions.add_parser("show", help="say what the columns of a logger’s file are taken for; nothing is stored",
                              description="Say what the columns of a logger’s file are taken for. Nothing is stored.")
    show.add_argument("--json", action="store_true", help="print it as JSON")
    convert = actions.add_parser("convert", help="write it as rows of seconds,celsius,fault, as replay reads them")
    take = actions.add_parser("import", help="keep it as a firing, judged as if it had been live")
    source = actions.add_parser("source", help="write the file that a firing was taken in from, byte for byte")
    source.add_argument("firing", metavar="FIRING", help="the firing’s number")
    source.add_argument("out", metavar="FILE", help="the file to write; nothing may be there yet")
    _add_folders(source)
    for action in (show, convert, take):
        action.add_argument("log", metavar="LOG.csv", help="the file that the logger wrote")
        add_corrections(action)
    convert.add_argument("out", metavar="TRACE.csv", help="the file to write")
    _configure_import(take)


def _add_folders(parser: argparse.ArgumentParser) -> None:
    from daemon.commands.folders import add_places

    add_places(parser, run_holds="the present state")


def _configure_import(take: argparse.ArgumentParser) -> None:
    from daemon.commands.load_options import add_load_options

    take.add_argument("--title", help="what the firing is called (the file’s name)")
    take.add_argument("--plan", metavar="PLAN.toml", help="the plan it was fired by")
    take.add_argument("--began", metavar="WHEN", help="when it began, where the file tells no date: 2026-03-04T20:30")
    take.add_argument("--kiln", metavar="NAME", help="the kiln it was fired in (yours, by another logger)")
    add_load_options(take, offset=False)
    _add_folders(take)


def add_corrections(parser: argparse.ArgumentParser) -> None:
    """Add the options that correct a guess."""
    from daemon.foreign_traces.corrected import DATES, DECIMALS, DELIMITERS, FORMS, UNITS

    group = parser.add_argument_group("where a guess is wrong")
    group.add_argument("--delimiter", choices=DELIMITERS, help="what stands between the cells")
    group.add_argument("--decimal", choices=DECIMALS, help="what stands before decimals")
    group.add_argument("--time", metavar="COLUMN", help="name or number of the column of times, or DATE+TIME")
    group.add_argument("--time-form", choices=FORMS, help="what it counts")
    group.add_argument("--dates", choices=DATES, help="how 03/04/2026 is meant")
    group.add_argument("--zone", metavar="ZONE", help="time zone of the logger’s clock, such as Europe/Berlin")
    group.add_argument("--every-s", metavar="S", type=float, help="seconds between two rows, where no column tells")
    group.add_argument("--temperature", metavar="COLUMN", help="name or number of the column of temperatures")
    group.add_argument("--unit", choices=UNITS, help="unit of the temperatures")


def understood(args: argparse.Namespace) -> tuple[Understanding, Readings]:
    """Return how the file that ``args`` names is read, and its readings.

    Raises
    ------
    BadInput
        Where it can't be read, or an option can't be used.
    """
    from daemon.files import read_bytes
    from daemon.foreign_traces import corrected

    asked = {name: str(said) for name in ("delimiter", "decimal", "time", "time_form", "dates", "zone", "every_s",
                                          "temperature", "unit") if (said := getattr(args, name)) is not None}
    return corrected.understood(read_bytes(args.log, what="logger’s file"), args.log, asked)


def _run(args: argparse.Namespace) -> int:
    import sys

    if args.action == "source":
        return _source(args)
    if args.action == "import":
        return _import(args)
    found, readings = understood(args)
    if args.action == "convert":
        from daemon.files import write_text
        from daemon.firing.trace.csv_trace import write_trace

        write_text(args.out, "".join(write_trace(readings.samples)), like="seconds,celsius,fault")
    if args.action == "show" and args.json:
        import json

        sys.stdout.write(json.dumps(_as_json(found, readings), indent=2, ensure_ascii=False) + "\n")
        return 0
    from daemon.foreign_traces.summary import summary

    sys.stdout.writelines(line + "\n" for line in summary(found, readings))
    sys.stdout.write(f"\nWritten: {args.out}\n" if args.action == "convert" else "\nNothing was stored.\n")
    return 0


def _import(args: argparse.Namespace) -> int:
    """Keep the file as a firing."""
    import os
    import sys
    from pathlib import Path

    from daemon.clock import SystemClock
    from daemon.commands.folders import keep_files_private, refuse_no_folder, refuse_root, settings
    from daemon.commands.load_options import load_plan, load_setup
    from daemon.errors import BadInput
    from daemon.files import read_bytes, read_text
    from daemon.foreign_traces.keep import Facts, keep, refuse_too_long
    from daemon.foreign_traces.summary import summary
    from daemon.store.database import FILE_NAME, open_database

    refuse_no_folder(args, "Give the data folder of your Lehrling.")
    refuse_root(args.data, os.geteuid())
    if not (args.data / FILE_NAME).exists():
        raise BadInput(f"--data {args.data}", "holds no record yet.", "Start the daemon or the demonstration once.")
    keep_files_private()
    data, name = read_bytes(args.log, what="logger’s file"), Path(args.log).name
    refuse_too_long(name, len(data))
    found, readings = understood(args)
    config, plan = settings(args), load_plan(args.plan) if args.plan else None
    facts = Facts(
        title=args.title or Path(args.log).stem, kiln=args.kiln or f"{config.kiln_name}, another logger",
        plan_toml=None if plan is None else read_text(args.plan, what="plan"),
        glass=args.glass if not args.glass.endswith(".toml") else read_text(args.glass, what="glass"),
        setup=load_setup(args, plan))
    db = open_database(args.data / FILE_NAME)
    try:
        number = keep(db, name, data, found, readings, facts,
                      _began(args, found, readings), SystemClock().utc())
    finally:
        db.close()
    sys.stdout.writelines(line + "\n" for line in summary(found, readings))
    sys.stdout.write(f"\nKept as firing {number} of “{facts.kiln}”, and the file with it. To have it back: "
                     f"lehrling trace source {number} FILE\n")
    return 0


def _source(args: argparse.Namespace) -> int:
    """Write the file that a firing was taken in from."""
    import sys
    from pathlib import Path

    from daemon.commands.folders import refuse_no_folder
    from daemon.commands.load_options import whole
    from daemon.errors import BadInput
    from daemon.store.chain import source_file
    from daemon.store.database import FILE_NAME, open_unwritable

    refuse_no_folder(args, "Give the data folder of your Lehrling.")
    number = whole("FIRING", args.firing, 1, 2**53)
    db = open_unwritable(args.data / FILE_NAME)
    try:
        kept, found = source_file.name_of(db, number), source_file.get(db, number)
    finally:
        db.close()
    if kept is None:
        raise BadInput(f"firing {number}", "has no file of another logger.",
                       "Only firings that were taken in from such a file have one.")
    if found is None:
        raise BadInput(f"firing {number}", "the file that is kept with it is damaged.",
                       "Look into an older copy of the record: lehrling copies list")
    try:
        with Path(args.out).open("xb") as file:
            file.write(found[1])
    except FileExistsError:
        raise BadInput(args.out, "is there already.", "Name a file that is not.") from None
    except OSError as err:
        raise BadInput(args.out, f"can't be written: {err.strerror}.", "Give a file in a folder you may write.") \
            from None
    sys.stdout.write(f"Written: {args.out}, {kept[1]} bytes, kept under the name {kept[0]}.\n")
    return 0


def _began(args: argparse.Namespace, found: Understanding, readings: Readings) -> datetime:
    """Return when the first row was read: as the file tells, else as --began says."""
    from daemon.errors import BadInput
    from daemon.foreign_traces.keep import began_as_said

    if args.began is not None:
        return began_as_said(args.began, found, "--began")
    if readings.began is None:
        raise BadInput(args.log, "tells no date.", "Say when its first row was read: --began 2026-03-04T20:30.")
    return readings.began


def _as_json(found: Understanding, readings: Readings) -> dict[str, object]:
    """Return what was understood; None where something is not known."""
    seen = [sample.temp_c for sample in readings.samples if sample.temp_c is not None]
    names = found.table.names
    return {
        "delimiter": found.table.delimiter, "decimal": found.decimal,
        "time": None if found.times is None else {"columns": [names[at] for at in found.times.at],
                                                  "form": found.times.form.name.lower(), "zone": str(found.zone)},
        "temperature": {"column": found.channel.name, "unit": found.unit},
        "columns": [{"number": channel.at + 1, "name": channel.name, "lowest": channel.lowest,
                     "highest": channel.highest, "missing": channel.missing} for channel in found.channels],
        "began_utc": None if readings.began is None else readings.began.isoformat().replace("+00:00", "Z"),
        "readings": len(readings.samples), "duration_s": readings.samples[-1].t_s,
        "peak_c": max(seen, default=None), "doubts": list(found.doubts), "notes": list(readings.notes),
    }


COMMAND = Command("Read the file of another logger, and say what it is taken for.", _configure, _run)
