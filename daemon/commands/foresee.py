"""``lehrling foresee``: what the owner's kiln will do with a plan, learned from its past firings."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from daemon.subcommand import Command

if TYPE_CHECKING:
    from datetime import datetime, tzinfo

    from daemon.kiln.kiln_model import KilnModel
    from daemon.settings.config import Config


def _configure(parser: argparse.ArgumentParser) -> None:
    from daemon.commands.folders import add_places
    from daemon.commands.load_options import add_load_options

    parser.add_argument("plan", metavar="PLAN.toml", help="the plan to be fired")
    parser.add_argument("--start", metavar="HH:MM", help="when it is started, so that times are said by the clock")
    parser.add_argument("--from-c", metavar="C", type=float, help="temperature of the kiln at the start (20)")
    add_load_options(parser, offset=False)
    parser.add_argument("--json", action="store_true", help="print it as JSON")
    add_places(parser, run_holds="the present state")


def _run(args: argparse.Namespace) -> int:
    import sys

    from daemon.commands.folders import settings
    from daemon.commands.load_options import load_plan, load_setup
    from daemon.firing.advice.plan_glass import figures_along, plan_glass_lines
    from daemon.firing.plan.schedule import planned_parts
    from daemon.firing.units import NO_SAFETY_DEVICE, Units
    from daemon.kiln.foresight import foresee
    from daemon.kiln.told import Clock, as_json, foresight_lines

    plan = load_plan(args.plan)
    setup = load_setup(args, plan)
    config = settings(args)
    model = _learned(args, config)
    from_c = _from_c(args.from_c)
    planned = planned_parts(plan, from_c)
    found = foresee(planned, model, from_c)
    if args.json:
        import json

        json.dump(as_json(planned, model, found, setup.glass), sys.stdout, ensure_ascii=False, allow_nan=False,
                  indent=1)
        sys.stdout.write("\n")
        return 0
    words = Units(setup.unit)
    out = [plan.title, *foresight_lines(planned, model, found, setup.glass, words,
                                        Clock(_starts(args.start, config.zone)))]
    out += ["", *plan_glass_lines(setup, figures_along(setup, found.curve))]
    out += ["", "Times and glass are estimates. " + NO_SAFETY_DEVICE]
    sys.stdout.writelines(line + "\n" for line in out)
    return 0


def _learned(args: argparse.Namespace, config: Config) -> KilnModel:
    """Return the kiln, learned from its record; BadInput where it has none."""
    from daemon.commands.folders import refuse_no_folder
    from daemon.errors import BadInput
    from daemon.kiln.learn import learn
    from daemon.lifecycle.kiln_from_store import past_firings
    from daemon.store import kilns
    from daemon.store.database import FILE_NAME, open_database

    refuse_no_folder(args, "Give the data folder of your Lehrling.")
    path = args.data / FILE_NAME
    if not path.exists():
        raise BadInput(f"--data {args.data}", "holds no record yet.", "Fire once with Lehrling beside the kiln.")
    db = open_database(path, readonly=True)
    try:
        kiln = kilns.find(db, config.kiln_name)
        model = None if kiln is None else learn(past_firings(db, kiln, config.zone))
    finally:
        db.close()
    if model is None:
        raise BadInput(f"--data {args.data}", f"no whole firing of {config.kiln_name} by a plan is kept yet.",
                       "Fire once with a plan; until then, lehrling plan check says its own times.")
    return model


def _from_c(value: float | None) -> float:
    from daemon.errors import BadInput
    from daemon.firing.plan.schedule import ASSUMED_ROOM_C

    if value is None:
        return ASSUMED_ROOM_C
    if not 0.0 <= value <= 600.0:
        raise BadInput(f"--from-c {value:g}", "is not between 0 and 600 °C.", "Write the kiln’s temperature in °C.")
    return value


def _starts(text: str | None, zone: tzinfo | None) -> datetime | None:
    """Return the moment that --start means: the next time the clock shows it."""
    if text is None:
        return None
    from datetime import time, timedelta

    from daemon.clock import SystemClock
    from daemon.errors import BadInput

    try:
        hour_minute = time.fromisoformat(f"{text:0>5}")
    except ValueError:
        raise BadInput(f"--start {text}", "is no time of day.", "Write it as 21:30.") from None
    now = SystemClock().utc().astimezone(zone)
    starts = now.replace(hour=hour_minute.hour, minute=hour_minute.minute, second=0, microsecond=0)
    return starts if starts > now else starts + timedelta(days=1)


COMMAND = Command("Say what your kiln will do with a plan, from its own record.", _configure, _run)
