"""``lehrling sensor``: looks at the thermocouple, and compares it with ice, boiling water or another instrument."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any

from daemon.commands.folders import add_places, places_of, settings
from daemon.commands.printed.findings_text import TO_MEND, hand_is_right, write_findings
from daemon.errors import BadInput
from daemon.subcommand import Command

if TYPE_CHECKING:
    import sqlite_utils

    from daemon.doctor.places import Places
    from daemon.sensor.reference import Reference
    from daemon.settings.config import Config
    from daemon.store.wear.calibrations import Calibration

FEET_M = 0.3048
"""A foot [m]. [source: the international foot, exact]"""
_FIGURES = ("altitude_m", "altitude_ft", "pressure_hpa", "other_c", "other_f", "other_within_c")
"""The options that take a number, with a decimal point or a decimal comma."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the actions and their options."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    check = actions.add_parser("check", help="look at the thermocouple, and say how far off it may be")
    check.add_argument("--warm-hand", action="store_true",
                       help="only tell whether its wires are swapped, by a hand at its tip; cold kiln only")
    calibrate = actions.add_parser("calibrate", help="compare it with a known temperature; no reading is changed")
    methods = calibrate.add_subparsers(dest="method", required=True, metavar="METHOD")
    ice = methods.add_parser("ice", help="ice slush, 0 °C")
    boiling = methods.add_parser("boiling", help="boiling water, by altitude or pressure")
    where = boiling.add_mutually_exclusive_group(required=True)
    where.add_argument("--altitude-m", metavar="M", help="altitude of this place [m]")
    where.add_argument("--altitude-ft", metavar="FT", help="altitude of this place [feet]")
    where.add_argument("--pressure-hpa", metavar="HPA",
                       help="pressure of the air at this place [hPa]; a weather report gives it reduced to sea level")
    hold = methods.add_parser("hold", help="another instrument, in an anneal hold")
    other = hold.add_mutually_exclusive_group(required=True)
    other.add_argument("--other-c", metavar="T", help="what it shows [°C]")
    other.add_argument("--other-f", metavar="T", help="what it shows [°F]")
    hold.add_argument("--other-within-c", metavar="K",
                      help="how far off it may be [°C] (default: type K of class 2 with a sound instrument)")
    hold.add_argument("--beside", action="store_true", help="both tips are within 50 mm of each other")
    hold.add_argument("--early", action="store_true", help="compare although the hold has only begun")
    listing = methods.add_parser("list", help="list all comparisons")
    undo = methods.add_parser("undo", help="take a comparison out of use; it stays in the record")
    undo.add_argument("number", metavar="NUMBER", type=int, help="its number in the list")
    redo = methods.add_parser("redo", help="use a comparison again that was taken out of use")
    redo.add_argument("number", metavar="NUMBER", type=int, help="its number in the list")
    for one in (check, ice, boiling, hold, listing, undo, redo):
        add_places(one, run_holds="the present state")
        one.add_argument("--json", action="store_true", help="print the result as JSON")


def run(args: argparse.Namespace) -> int:
    """Look, compare, list, take out of use or use again."""
    places = places_of(args, "sensor check" if args.action == "check" else f"sensor calibrate {args.method}")
    if args.action == "check":
        return _check(args, places)
    if args.method == "list":
        return _list(args, places)
    if args.method in ("undo", "redo"):
        return _use(args, places)
    _read_figures(args)
    return _compare(args, places)


def _read_figures(args: argparse.Namespace) -> None:
    """Read the numbers among the options as the settings read theirs."""
    from daemon.settings.keys import number_of

    for name in _FIGURES:
        typed = getattr(args, name, None)
        if typed is not None:
            setattr(args, name, number_of(f"--{name.replace('_', '-')}", typed))


def _check(args: argparse.Namespace, places: Places) -> int:
    from daemon.clock import SystemClock
    from daemon.doctor.computer import Computer
    from daemon.doctor.sensor import check

    if args.warm_hand:
        return 0 if hand_is_right(places) else TO_MEND
    result = check(places, SystemClock(), Computer(), lambda done, of: _show(f"listening, {done} of {of} readings"))
    _show("")
    if args.json:
        _write_json(result.as_json())
    else:
        write_findings(result.findings)
    return 0 if result.is_good else TO_MEND


def _compare(args: argparse.Namespace, places: Places) -> int:
    """Compare the thermocouple, and keep what was found."""
    from daemon.clock import SystemClock
    from daemon.commands.printed.comparison_text import CAUTIONS, PREPARED
    from daemon.doctor.compare import compared, keep, stand_still
    from daemon.doctor.kiln_now import held_for_s, refuse_hot, refuse_now
    from daemon.doctor.live_probe import live_probe
    from daemon.sensor.reference import Method
    from daemon.store.database import NoDatabase, is_current, open_database

    reference, config, clock = _reference(args), settings(args), SystemClock()
    db = open_database(places.record)  # before anybody stands there with hot water
    try:
        if not is_current(db):
            raise NoDatabase(str(places.record), "is of an older version.",
                             "Start lehrling daemon once; it brings it up to date.")
        refuse_now(places, clock, reference.method)
        with live_probe(places, config, clock) as look:
            refuse_hot(look(), reference, config.unit)
            held_s = held_for_s(places, clock) if reference.method is Method.HOLD else None
            if held_s is not None and not args.early:
                _ask_if_early(held_s, may_ask=not args.json)
            if not args.json:
                sys.stdout.write(f"{CAUTIONS[args.method]}\n{PREPARED[args.method]}\n")
                sys.stdout.flush()
            stood = stand_still(look, clock, reference.method, config.unit, lambda temp_c, share: _show(
                f"{temp_c:7.1f} °C, {share * 100:3.0f} % of a minute"))
        _show("")
        kept = keep(db, compared(reference, stood, config.unit), stood.cold_c, config, clock.utc())
    finally:
        db.close()
    return _told(args, kept, config, held_s)


def _ask_if_early(held_s: float, *, may_ask: bool) -> None:
    """Ask whether to compare in a hold that has only begun, before anything is measured and kept.

    Parameters
    ----------
    held_s
        For how long the kiln has been in the hold [s].
    may_ask
        Whether an answer can be typed where there is a terminal.

    Raises
    ------
    BadInput
        Where the answer is no, and where nobody is there to give one.
    """
    from daemon.commands.printed.comparison_text import FIRST_MIN

    if held_s >= 60 * FIRST_MIN:
        return
    said = (f"the kiln has been in this hold for {held_s / 60:.0f} min only. Before {FIRST_MIN:.0f} min "
            "the two tips may still differ.")
    if may_ask and sys.stdin.isatty():
        sys.stdout.write(f"{said[0].upper()}{said[1:]} Compare all the same? Type y or n: ")
        sys.stdout.flush()
        if sys.stdin.readline().strip().lower() in ("y", "yes"):
            return
    raise BadInput("not yet", said, f"Come back in {FIRST_MIN - held_s / 60:.0f} min, or add --early to compare now.")


def _reference(args: argparse.Namespace) -> Reference:
    """Return what is compared with.

    Raises
    ------
    BadInput
        Where no such reference can be.
    """
    from daemon.sensor import boiling
    from daemon.sensor.reference import boiling_at, boiling_under, ice, other_in_hold

    if args.method == "ice":
        return ice()
    if args.method == "hold":
        other_c = args.other_c if args.other_c is not None else (args.other_f - 32) / 1.8
        if args.other_within_c is not None and not 0 < args.other_within_c <= 30:
            raise BadInput("--other-within-c", f"{args.other_within_c:g} is outside 0 to 30.", "Its data sheet says.")
        found = other_in_hold(other_c, beside=args.beside, other_limit_k=args.other_within_c)
        if found is None:
            raise BadInput("--other-c, --other-f", f"{other_c:.0f} °C is no hold of a hot kiln.",
                           "Compare in an anneal hold, at some 500 °C.")
        return found
    if args.pressure_hpa is not None:
        if not boiling.LOWEST_HPA <= args.pressure_hpa <= boiling.HIGHEST_HPA:
            raise BadInput("--pressure-hpa", f"{args.pressure_hpa:g} hPa is no pressure of the air.",
                           "At sea level it is some 1013 hPa.")
        return boiling_under(args.pressure_hpa)
    altitude_m = args.altitude_m if args.altitude_m is not None else args.altitude_ft * FEET_M
    if not boiling.LOWEST_M <= altitude_m <= boiling.HIGHEST_M:
        raise BadInput("--altitude-m, --altitude-ft", f"{altitude_m:.0f} m is too far up or down.", "Is it in feet?")
    return boiling_at(altitude_m)


def _told(args: argparse.Namespace, kept: Calibration, config: Config, held_s: float | None) -> int:
    """Say what a comparison came to; 1 where sound new parts cannot be so far off. ``held_s``: of the hold before."""
    from daemon.commands.printed.comparison_text import as_json, write_found
    from daemon.sensor.comparison import is_within
    from daemon.sensor.stated import Thermocouple

    found = Thermocouple(kept.thermocouple_type, kept.tolerance_class)
    here = found.accuracy(kept.reading_c, kept.cold_junction_c)
    within = None if here is None else is_within(kept.off_k, kept.plus_minus_k, here)
    if args.json:
        _write_json({**as_json(kept, of_present=True), "as_new_plus_minus_k": here and here.plus_minus_k,
                     "within": within, "held_s": held_s})
    else:
        write_found(kept, here, config, within=within, held_s=held_s)
    return TO_MEND if within is False else 0


def _list(args: argparse.Namespace, places: Places) -> int:
    """List all comparisons, the latest last."""
    from daemon.commands.printed.comparison_text import as_json
    from daemon.sensor.stated import table_row
    from daemon.store.database import open_database

    config = settings(args)
    db = open_database(places.record, readonly=True)
    try:
        all_of = _comparisons(db, config)
    finally:
        db.close()
    if args.json:
        _write_json({"calibrations": [as_json(one, of_present=used) for one, used in all_of]})
        return 0
    for one, used in all_of:
        row = table_row(one, config.unit, config.zone)
        state = "; out of use" if one.is_removed else "" if used else "; an earlier thermocouple"
        sys.stdout.write(f"{row['number']:>3}  {row['day']}  {row['method']}: read {row['read']}, should be "
                         f"{row['should']}: {row['off']}{state}\n")
    if not all_of:
        sys.stdout.write("Nothing has been compared yet: lehrling sensor calibrate ice\n")
    return 0


def _comparisons(db: sqlite_utils.Database, config: Config) -> list[tuple[Calibration, bool]]:
    """Return all comparisons, the latest last, each with whether it is in use and of the thermocouple in now."""
    from daemon.store import kilns
    from daemon.store.wear import calibrations

    kiln_id = kilns.find(db, config.kiln_name)
    if kiln_id is None:
        return []
    used = {one.calibration_id for one in calibrations.of_present(db, kiln_id, config.zone)}
    return [(one, one.calibration_id in used) for one in calibrations.of_kiln(db, kiln_id)]


def _use(args: argparse.Namespace, places: Places) -> int:
    """Take a comparison out of use, or use it again."""
    from daemon.clock import SystemClock
    from daemon.commands.printed.comparison_text import as_json
    from daemon.store.database import open_database
    from daemon.store.wear import calibrations

    config = settings(args)
    db = open_database(places.record)
    try:
        if args.number not in {one.calibration_id for one, _ in _comparisons(db, config)}:
            raise BadInput(str(args.number), "there is no such comparison.",
                           "lehrling sensor calibrate list has them all.")
        if args.method == "undo":
            calibrations.remove(db, args.number, SystemClock().utc())
        else:
            calibrations.bring_back(db, args.number)
        now, used = next(row for row in _comparisons(db, config) if row[0].calibration_id == args.number)
    finally:
        db.close()
    if args.json:
        _write_json(as_json(now, of_present=used))
    elif now.is_removed:
        sys.stdout.write(f"Out of use. It stays in the record: lehrling sensor calibrate redo {args.number}\n")
    else:
        sys.stdout.write("In use again.\n")
    return 0


def _write_json(said: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(said, ensure_ascii=False, indent=2) + "\n")


def _show(text: str) -> None:
    """Show how far it is on a terminal, in one line that is written over; a pipe gets none."""
    if sys.stderr.isatty():
        sys.stderr.write(f"\r{text:<60}" if text else f"\r{'':<60}\r")
        sys.stderr.flush()


COMMAND = Command("look at the thermocouple, and compare it with ice, boiling water or an instrument", configure, run)
