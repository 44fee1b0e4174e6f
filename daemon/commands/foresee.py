"""``lehrling foresee``: what the owner's kiln will do with a plan, learned from its past firings."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from daemon.subcommand import Command

if TYPE_CHECKING:
    from datetime import datetime, tzinfo

    from daemon.firing.plan.plan import Plan
    from daemon.firing.setup import Setup
    from daemon.kiln.kiln_model import KilnModel
    from daemon.kiln.planning.energy_ahead import PastEnergy
    from daemon.kiln.planning.followable import Followable, OutOfReach
    from daemon.kiln.planning.what_if import Changes, Column, Kiln
    from daemon.settings.config import Config


def _configure(parser: argparse.ArgumentParser) -> None:
    from daemon.commands.folders import add_places
    from daemon.commands.load_options import add_load_options

    parser.add_argument("plan", metavar="PLAN.toml", help="the plan to be fired")
    parser.add_argument("--start", metavar="HH:MM", action="append", default=[],
                        help="when it is started, so that times are said by the clock; more than once: beside each "
                             "other")
    parser.add_argument("--from-c", metavar="C", type=float, help="temperature of the kiln at the start (20)")
    what_if = parser.add_argument_group("what if", "each stands beside the plan as it is written, and may be given "
                                        "more than once")
    what_if.add_argument("--hotter", metavar="DEGREES", type=float, action="append", default=[],
                         help="the top so much hotter, in the plan's unit; below 0 cooler")
    what_if.add_argument("--longer", metavar="MIN", type=float, action="append", default=[],
                         help="the hold at the top so much longer; below 0 shorter")
    what_if.add_argument("--anneal-for", metavar="MM", type=float, action="append", default=[],
                         help="the anneal that lehrling anneal gives for this thickness")
    add_load_options(parser, offset=False)
    out = parser.add_mutually_exclusive_group()
    out.add_argument("--json", action="store_true", help="print it as JSON")
    out.add_argument("--followable", action="store_true",
                     help="print a plan that the kiln can follow, as TOML, where it can't follow this one")
    add_places(parser, run_holds="the present state")


def _run(args: argparse.Namespace) -> int:
    import sys

    from daemon.commands.folders import settings
    from daemon.commands.load_options import load_plan, load_setup
    from daemon.firing.plan.schedule import ASSUMED_ROOM_C
    from daemon.kiln.planning.followable import followable
    from daemon.kiln.planning.what_if import Kiln, columns

    plan = load_plan(args.plan)
    setup = load_setup(args, plan)
    config = settings(args)
    asked = _changes(args, plan, config.zone)
    model, energy = _learned(args, config)
    kiln = Kiln(model, _from_c(args.from_c), ASSUMED_ROOM_C, energy)
    can_follow = followable(plan, model, kiln.from_c, kiln.room_c)
    if args.followable:
        sys.stdout.write(_followable_toml(args.plan, model, can_follow, setup))
        return 0
    beside = columns(plan, setup, kiln, asked)
    if args.json:
        import json

        json.dump(_json(beside, setup, kiln, can_follow), sys.stdout, ensure_ascii=False, allow_nan=False, indent=1)
        sys.stdout.write("\n")
        return 0
    sys.stdout.writelines(line + "\n" for line in _lines(beside, setup, kiln, can_follow, config))
    return 0


def _changes(args: argparse.Namespace, plan: Plan, zone: tzinfo | None) -> Changes:
    """Return what is asked besides the plan as it is written; BadInput where a figure can't be used."""
    from daemon.commands.load_options import number
    from daemon.firing.plan.plan import MAX_HOLD_MIN, rate_to_unit
    from daemon.firing.setup import THICKEST_MM, THINNEST_MM
    from daemon.kiln.planning.what_if import MOST_K, Changes

    most = rate_to_unit(MOST_K, plan.unit)
    per_degree = 5 / 9 if plan.unit == "F" else 1.0
    return Changes(
        [_starts(text, zone) for text in args.start],
        [number("--hotter", f"{by:.12g}", -most, most, f"°{plan.unit}") * per_degree for by in args.hotter],
        [60 * number("--longer", f"{by:.12g}", -MAX_HOLD_MIN, MAX_HOLD_MIN, "min") for by in args.longer],
        [number("--anneal-for", f"{mm:.12g}", THINNEST_MM, THICKEST_MM, "mm") for mm in args.anneal_for])


def _lines(beside: Sequence[Column], setup: Setup, kiln: Kiln, can_follow: Followable | OutOfReach | None,
           config: Config) -> Iterator[str]:
    """Yield the forecast, what the glass goes through, and what would be with each change."""
    from daemon.firing.advice.plan_check import doubt_lines
    from daemon.firing.advice.plan_glass import figures_along, plan_glass_lines
    from daemon.firing.units import NO_SAFETY_DEVICE, Units
    from daemon.kiln.planning.beside import Tariff, energy_line, glass_rows, not_changed, rows_beside, table_lines
    from daemon.kiln.planning.followable_words import followable_lines
    from daemon.kiln.planning.what_if import by_plan
    from daemon.kiln.told import foresight_lines

    written, words = beside[0], Units(setup.unit)
    tariff = Tariff(config.energy.price_per_kwh, config.energy.currency)
    yield written.plan.title
    yield from foresight_lines(written.planned, kiln.model, written.found, setup.glass, words, written.clock,
                                written.beyond and written.beyond.step)
    proposed = list(followable_lines(can_follow, setup))
    if proposed:
        yield from ("", *proposed)
    yield ""
    two = [by_plan(written.plan, setup, kiln, written.clock), written._replace(name="in this kiln")]
    yield "What the glass goes through"
    yield from table_lines(two, glass_rows(two, setup.glass, words, tariff))
    yield from filter(None, [energy_line(written.outlook.energy, tariff)])
    yield ""
    yield from plan_glass_lines(setup, figures_along(setup, written.found.curve))
    yield ""
    yield from doubt_lines(setup)
    if len(beside) > 1:
        rows = rows_beside(beside, setup.glass, words, tariff)
        yield ""
        yield "What if"
        yield from table_lines(beside, [row for row in rows if row.differs])
        yield from filter(None, [not_changed(rows)])
    yield ""
    yield ("Times, glass and energy are estimates. The data sheet of your glass and the manual of your kiln come "
           "first. " + NO_SAFETY_DEVICE)


def _json(beside: Sequence[Column], setup: Setup, kiln: Kiln,
          can_follow: Followable | OutOfReach | None) -> dict[str, Any]:
    from daemon.firing.advice.plan_check import doubts
    from daemon.kiln.planning.beside import beyond_json, outlook_json
    from daemon.kiln.planning.followable_words import followable_json
    from daemon.kiln.planning.what_if import by_plan
    from daemon.kiln.told import as_json

    written, *others = beside
    return {
        **as_json(written.planned, kiln.model, written.found, setup.glass),
        "in_this_kiln": outlook_json(written.outlook), "out_of_reach": beyond_json(written),
        "by_the_plan": outlook_json(by_plan(written.plan, setup, kiln, written.clock).outlook),
        "what_if": [{"name": one.name, "starts": one.clock.starts_iso, "out_of_reach": beyond_json(one),
                     **outlook_json(one.outlook)}
                    for one in others],
        "doubts": list(doubts(setup)),
        "followable": followable_json(can_follow, setup),
    }


def _followable_toml(path: str, model: KilnModel, found: Followable | OutOfReach | None, setup: Setup) -> str:
    """Return the plan that the kiln can follow; BadInput where there is none to be proposed."""
    from daemon.errors import BadInput
    from daemon.kiln.planning.followable import Followable
    from daemon.kiln.planning.followable_words import followable_lines, followable_toml

    if isinstance(found, Followable):
        return followable_toml(found, setup)
    if found is not None:
        raise BadInput(path, *followable_lines(found, setup))
    if not model.is_power_known:
        raise BadInput(path, "no firing that is kept shows the most this kiln can do, so nothing is proposed.",
                       "Fire once with a climb as fast as the kiln goes.")
    raise BadInput(path, "this kiln can climb as the plan is written, so no other plan is proposed.",
                   f"Before you fire it, read what is doubtful in it for the glass: lehrling plan check {path}")


def _learned(args: argparse.Namespace, config: Config) -> tuple[KilnModel, PastEnergy | None]:
    """Return the kiln, learned from its record, and its energy where its power was given; BadInput without one."""
    from daemon.commands.folders import refuse_no_folder
    from daemon.errors import BadInput
    from daemon.kiln.learn import learn
    from daemon.kiln.planning.energy_ahead import read_over_foreseen
    from daemon.lifecycle.kiln_from_store import past_firings
    from daemon.store import kilns
    from daemon.store.database import FILE_NAME, open_database
    from daemon.store.wear.past_energy import past_energy

    refuse_no_folder(args, "Give the data folder of your Lehrling.")
    path = args.data / FILE_NAME
    if not path.exists():
        raise BadInput(f"--data {args.data}", "holds no record yet.", "Fire once with Lehrling beside the kiln.")
    db = open_database(path, readonly=True)
    try:
        kiln = kilns.find(db, config.kiln_name)
        past = [] if kiln is None else past_firings(db, kiln, config.zone)
        model = learn(past)
        energy = None if kiln is None else past_energy(db, kiln, config.energy.power_kw)
    finally:
        db.close()
    if model is None:
        raise BadInput(f"--data {args.data}", f"no whole firing of {config.kiln_name} by a plan is kept yet.",
                       "Fire once with a plan; until then, lehrling plan check says its own times.")
    return model, energy and energy._replace(times=read_over_foreseen(past, model))


def _from_c(value: float | None) -> float:
    from daemon.errors import BadInput
    from daemon.firing.plan.schedule import ASSUMED_ROOM_C

    if value is None:
        return ASSUMED_ROOM_C
    if not 0.0 <= value <= 600.0:
        raise BadInput(f"--from-c {value:g}", "is not between 0 and 600 °C.", "Write the kiln’s temperature in °C.")
    return value


def _starts(text: str, zone: tzinfo | None) -> datetime:
    """Return the moment that --start means: the next time the clock shows it."""
    from datetime import time, timedelta

    from daemon.clock import SystemClock
    from daemon.errors import BadInput

    try:
        hour_minute = time.fromisoformat(f"{text:0>5}")
    except ValueError:
        raise BadInput(f"--start {text}", "is no time of day.", "Write it as 21:30.") from None
    if hour_minute.tzinfo is not None:
        raise BadInput(f"--start {text}", "is more than one time of day.", "Give --start once for each, as 21:30.")
    now = SystemClock().utc().astimezone(zone)
    starts = now.replace(hour=hour_minute.hour, minute=hour_minute.minute, second=0, microsecond=0)
    return starts if starts > now else starts + timedelta(days=1)


COMMAND = Command("Say what your kiln will do with a plan, from its own record.", _configure, _run)
