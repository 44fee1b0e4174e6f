"""``lehrling daemon``: watches the kiln; what systemd runs."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from daemon.commands.folders import add_places, keep_files_private, refuse_root, service_settings
from daemon.commands.restart import restart_process
from daemon.errors import BadInput
from daemon.subcommand import Command

if TYPE_CHECKING:
    from daemon.settings.config import Config

MAX_SPEED = 100_000.0
"""Fastest firing clock that may be asked for, in firing seconds a wall second. [chosen: a day in a second]"""


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_places(parser, run_holds="the present state and the socket")
    bench = parser.add_argument_group("the bench: a simulated kiln in place of the real one")
    bench.add_argument("--bench", metavar="NAME", nargs="?", const="",
                       help="use the bench, with this kiln on it, or this scenario with all that goes wrong in it")
    bench.add_argument("--speed", metavar="N", type=float, default=1.0,
                       help="firing seconds a wall second (default 1)")
    bench.add_argument("--bench-plan", metavar="PLAN.toml", type=Path, help="the plan the bench's controller runs")
    bench.add_argument("--bench-fault", metavar="NAME@WHEN", action="append", default=[],
                       help="a fault, spelt as for lehrling rehearse; may be given more than once")
    bench.add_argument("--bench-seed", metavar="N", type=int, help="another number, another firing")


def run(args: argparse.Namespace) -> int:
    """Watch until told to stop by SIGTERM or SIGINT."""
    import logging
    import os
    import signal
    import sys

    from daemon.service.assembly import Folders, run_daemon

    # The journal of systemd writes the time itself.
    stamp = "" if "JOURNAL_STREAM" in os.environ else "%(asctime)s "
    logging.basicConfig(stream=sys.stderr, level=logging.INFO, format=stamp + "%(levelname)s %(message)s")
    logging.getLogger("apscheduler").setLevel(logging.WARNING)
    if not 1.0 <= args.speed <= MAX_SPEED:
        raise BadInput("--speed", f"{args.speed:g} is outside 1 to {MAX_SPEED:g}.", "300 shows a night in minutes.")
    refuse_root(args.data, os.geteuid())
    keep_files_private()
    config = _on_the_bench(args, service_settings(args))
    stopped: list[int] = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda number, _: stopped.append(number))
    if run_daemon(config, Folders(args.data, args.run_dir), args.speed, lambda: bool(stopped)):
        restart_process()
    return 0


def _on_the_bench(args: argparse.Namespace, config: Config) -> Config:
    """Return the settings with what the bench's options say instead."""
    from dataclasses import replace

    from daemon.settings.config import Probe

    asked = {
        "kiln": args.bench or None,
        "plan": str(args.bench_plan.absolute()) if args.bench_plan else None,
        "faults": args.bench_fault or None,
        "seed": args.bench_seed,
    }
    given = {key: value for key, value in asked.items() if value is not None}
    if args.bench is None and not given:
        return config
    if args.bench is None and config.probe.kind != "bench":
        raise BadInput("--bench-plan, --bench-fault, --bench-seed", "there is no bench.", "Add --bench.")
    kept = config.probe.settings if config.probe.kind == "bench" else {
        "thermocouple_type": config.probe.thermocouple_type}
    return replace(config, probe=Probe("bench", config.probe.thermocouple_type, {**kept, **given},
                                       tolerance_class=config.probe.tolerance_class))


COMMAND = Command("watch the kiln: read, judge, keep, alert", configure, run)
