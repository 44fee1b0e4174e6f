"""``lehrling foresee``: what the owner's kiln will do with a plan, learned from its past firings."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from daemon.subcommand import Command

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime, time

    from daemon.firing.setup import Setup
    from daemon.kiln.kiln_model import KilnModel
    from daemon.kiln.planning.energy_ahead import PastEnergy
    from daemon.kiln.planning.followable import Followable, OutOfReach
    from daemon.kiln.planning.latest_start import DoneBy
    from daemon.kiln.planning.what_if import Changes, Refused
    from daemon.settings.config import Config


def _configure(parser: argparse.ArgumentParser) -> None:
    from daemon.commands.folders import add_places
    from daemon.commands.load_options import add_load_options

    parser.add_argument("plan", metavar="PLAN.toml", help="the plan to be fired")
    parser.add_argument("--start", metavar="TIME", action="append", default=[],
                        help="when it is started, as 21:30 or 9:30pm, so that times are said by the clock; more than "
                             "once: beside each other")
    parser.add_argument("--done-by", metavar="TIME",
                        help="when you leave, as 08:00: says the latest start at which it is done by then in nine of "
                             "ten nights")
    parser.add_argument("--done", choices=("hold", "annealed", "open"),
                        help="what must be done by then: the anneal hold over, the kiln below the annealing range, "
                             "or cool enough to open (default: hold; open where no glass is in the kiln)")
    parser.add_argument("--from-c", metavar="C", type=float, help="temperature of the kiln at the start (20)")
    what_if = parser.add_argument_group("what if", "each stands beside the plan as it is written, and may be given "
                                        "more than once")
    what_if.add_argument("--hotter", metavar="DEGREES", type=float, action="append", default=[],
                         help="the top so much hotter, in the plan's unit; below 0 cooler")
    what_if.add_argument("--longer", metavar="MIN", type=float, action="append", default=[],
                         help="the hold at the top so much longer; below 0 shorter")
    what_if.add_argument("--anneal-for", metavar="MM", type=float, action="append", default=[],
                         help="the anneal that lehrling anneal gives for this thickness")
    add_load_options(parser, offset=False, may_be_empty=True)
    out = parser.add_mutually_exclusive_group()
    out.add_argument("--json", action="store_true", help="print it as JSON")
    out.add_argument("--followable", action="store_true",
                     help="print a plan that the kiln can follow, as TOML, where it can't follow this one")
    add_places(parser, run_holds="the present state")


def _run(args: argparse.Namespace) -> int:
    import sys

    from daemon.commands.folders import settings
    from daemon.commands.load_options import load_plan, load_setup
    from daemon.commands.printed.foresee_text import Foretold, lines, plain
    from daemon.firing.plan.schedule import ASSUMED_ROOM_C
    from daemon.kiln.planning.beside import Tariff
    from daemon.kiln.planning.followable import followable
    from daemon.kiln.planning.what_if import Kiln, columns, fitting

    plan = load_plan(args.plan)
    setup = load_setup(args, plan, may_be_empty=True)
    config = settings(args)
    asked, refused = fitting(plan, setup, _changes(args, setup, plan.unit, config))
    model, energy, is_firing = _learned(args, config)
    kiln = Kiln(model, _from_c(args.from_c, asked.done_by), ASSUMED_ROOM_C, energy, is_firing)
    can_follow = followable(plan, model, kiln.from_c, kiln.room_c)
    if args.followable:
        sys.stdout.write(_followable_toml(args.plan, model, can_follow, setup))
        return 0
    told = Foretold(columns(plan, setup, kiln, asked), setup, kiln, can_follow, asked.done_by,
                    Tariff(config.energy.price_per_kwh, config.energy.currency))
    if args.json:
        import json

        json.dump(plain(told), sys.stdout, ensure_ascii=False, allow_nan=False, indent=1)
        sys.stdout.write("\n")
    else:
        sys.stdout.writelines(line + "\n" for line in lines(told))
    return _without(refused)


def _without(refused: Sequence[Refused]) -> int:
    """Say which changes were left out, and return the exit status."""
    import sys

    from daemon.cli import BAD_INPUT

    for what, why in refused:
        option = {"anneal": "--anneal-for"}.get(what, f"--{what}")
        sys.stderr.write(f"lehrling: {option}: {why.problem} {why.remedy}\n")
    return BAD_INPUT if refused else 0


def _changes(args: argparse.Namespace, setup: Setup, unit: str, config: Config) -> Changes:
    """Return what is asked besides the plan as it is written; BadInput where a figure can't be used."""
    from daemon.clock import SystemClock
    from daemon.commands.load_options import number
    from daemon.kiln.planning.what_if import ANNEAL_MM, MOST_LONGER_MIN, Changes, in_kelvin, most_hotter
    from daemon.wall_clock import machine_zone, next_time

    now = SystemClock().utc().astimezone(config.zone or machine_zone())
    most, longest = most_hotter(unit), MOST_LONGER_MIN
    return Changes(
        [next_time(_time("--start", text), now) for text in args.start],
        [in_kelvin(number("--hotter", f"{by:.12g}", -most, most, f"°{unit}"), unit) for by in args.hotter],
        [60 * number("--longer", f"{by:.12g}", -longest, longest, "min") for by in args.longer],
        [number("--anneal-for", f"{mm:.12g}", *ANNEAL_MM, "mm") for mm in args.anneal_for],
        _done_by(args, now, is_empty=setup.is_empty))


def _done_by(args: argparse.Namespace, now: datetime, *, is_empty: bool) -> DoneBy | None:
    from daemon.errors import BadInput
    from daemon.kiln.planning.latest_start import Done, DoneBy

    if args.done_by is None and args.done is not None:
        raise BadInput("--done", f"{args.done!r} does not say by when.", "Give the time as well: --done-by 08:00.")
    done = Done(args.done or ("open" if is_empty else "hold"))
    return None if args.done_by is None else DoneBy(done, _time("--done-by", args.done_by), now)


def _followable_toml(path: str, model: KilnModel, found: Followable | OutOfReach | None, setup: Setup) -> str:
    """Return the plan that the kiln can follow; BadInput where there is none to be proposed."""
    from daemon.errors import BadInput
    from daemon.kiln.planning.followable import Followable
    from daemon.kiln.planning.followable_words import beyond_lines, followable_lines, followable_toml

    if isinstance(found, Followable):
        return followable_toml(found, setup)
    if found is not None:
        raise BadInput(path, *beyond_lines(found, setup), *followable_lines(found, setup))
    if not model.is_power_known:
        raise BadInput(path, "no firing that is kept shows the most this kiln can do, so nothing is proposed.",
                       "Fire once with a climb as fast as the kiln goes.")
    raise BadInput(path, "this kiln can climb as the plan is written, so no other plan is proposed.",
                   f"Before you fire it, read what is doubtful in it for the glass: lehrling plan check {path}")


def _learned(args: argparse.Namespace, config: Config) -> tuple[KilnModel, PastEnergy | None, bool]:
    """Return the kiln, learned from its record, its energy where its power was given, and whether a firing runs.

    BadInput where nothing can be learned.
    """
    from daemon.commands.folders import refuse_no_folder
    from daemon.errors import BadInput
    from daemon.kiln.learn import learn
    from daemon.kiln.planning.energy_ahead import read_over_foreseen
    from daemon.lifecycle.kiln_from_store import past_firings
    from daemon.store import firings, kilns
    from daemon.store.database import FILE_NAME, open_database
    from daemon.store.wear.past_energy import past_energy

    refuse_no_folder(args, "Give the data folder of your Lehrling.")
    path = args.data / FILE_NAME
    if not path.exists():
        raise BadInput(f"--data {args.data}", "this folder holds no record yet.",
                       "Fire once with Lehrling beside the kiln.")
    db = open_database(path, readonly=True)
    try:
        kiln = kilns.find(db, config.kiln_name)
        past = [] if kiln is None else past_firings(db, kiln, config.zone)
        model = learn(past)
        energy = None if kiln is None else past_energy(db, kiln, config.energy.power_kw)
        is_firing = kiln is not None and firings.current(db, kiln) is not None
    finally:
        db.close()
    if model is None:
        raise BadInput(f"--data {args.data}", f"no whole firing of {config.kiln_name} by a plan is kept yet.",
                       "Fire once with a plan; until then, lehrling plan check says its own times.")
    return model, energy and energy._replace(times=read_over_foreseen(past, model)), is_firing


def _from_c(value: float | None, done_by: DoneBy | None) -> float:
    """Return how warm the kiln is at the start [°C]; BadInput where it is warm now, but starts later."""
    from daemon.errors import BadInput
    from daemon.firing.plan.schedule import ASSUMED_ROOM_C
    from daemon.kiln.foresight import OPEN_C

    if value is None:
        return ASSUMED_ROOM_C
    if not 0.0 <= value <= 600.0:
        raise BadInput("--from-c", f"{value:g} °C is not between 0 and 600 °C.",
                       "Write the kiln’s temperature in °C.")
    if done_by is not None and value > OPEN_C:
        raise BadInput("--from-c", f"a kiln that is warm now, at {value:g} °C, has cooled by its latest start.",
                       "For a start now, leave --done-by out. For the latest start, leave --from-c out: it is then "
                       "that of a cold kiln.")
    return value


def _time(option: str, text: str) -> time:
    from daemon.errors import BadInput
    from daemon.typed_time import read_time, times_in

    at, wrong = read_time(text)
    if at is None and len(times_in(text)) > 1 and all(read_time(one)[0] for one in times_in(text)):
        raise BadInput(option, f"{text!r} is more than one time of day.",
                       "Give --start once for each." if option == "--start" else "Give one.")
    if at is None:
        raise BadInput(option, f"{text!r} {wrong}")
    return at


COMMAND = Command("Say what your kiln will do with a plan, from its own record.", _configure, _run)
