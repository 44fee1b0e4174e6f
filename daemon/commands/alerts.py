"""``lehrling alerts``: try every way to reach the owner, and list what was raised."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from daemon.commands.folders import add_places, settings
from daemon.errors import BadInput
from daemon.subcommand import Command

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    import sqlite_utils

    from daemon.firing.events import Alert
    from daemon.notify.alert_messages import Channel
    from daemon.settings.config import Config
    from daemon.store.outbox import Fate

WAIT_S = 45.0
"""How long a test message may take [s]; a mail server that hangs is given up after 15. [chosen: three such
tries]"""

SOUNDER = "sounder"
"""How the sounder at the kiln is named among the channels."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the actions and their options."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    test = actions.add_parser("test", help="send a test through every channel, as a wake goes, sound the sounder, "
                              "and tell")
    test.add_argument("channel", nargs="*", help="only these channels, by name; sounder is the one at the kiln")
    add_places(test, run_holds="the present state and the socket")
    listing = actions.add_parser("list", help="list the alerts of a firing and what was sent of them")
    listing.add_argument("--firing", metavar="N", type=int, help="its number (default: the latest)")
    add_places(listing, run_holds="the present state")


def run(args: argparse.Namespace) -> int:
    """Test or list; 1 where a test message did not get through."""
    from daemon.store.database import FILE_NAME, open_database

    db = open_database(args.data / FILE_NAME)
    try:
        return _test(args, db) if args.action == "test" else _list(args, db)
    finally:
        db.close()


def _test(args: argparse.Namespace, db: sqlite_utils.Database) -> int:
    """Sound the sounder and send through the channels, all or those that were named."""
    config = settings(args)
    names = {channel.name for channel in config.channels}
    for name in args.channel:
        if name not in names | {SOUNDER}:
            known = ", ".join([*sorted(names), SOUNDER])
            raise BadInput(f"channel {name}", "is none of the settings.", f"Known: {known}.")
    has_sounded = SOUNDER not in (args.channel or [SOUNDER]) or _sound(args, config)
    chosen = [channel for channel in config.channels if not args.channel or channel.name in args.channel]
    if not config.channels and not args.channel:
        raise BadInput("[[channel]]", "there is none in the settings, so nobody is told.",
                       "docs/settings.md shows how to write one.")
    return 0 if _send(db, chosen) and has_sounded else 1


def _sound(args: argparse.Namespace, config: Config) -> bool:
    """Sound the sounder at the kiln; return whether it sounds, or is not there and was not asked for."""
    from daemon.service.kiln_alarm import TRIAL_S
    from daemon.service.try_sounder import try_sounder

    if config.sounder is None:
        sys.stdout.write("sounder: there is none in the settings. lehrling settings set sounder.pin D17\n")
        return SOUNDER not in args.channel
    try:
        try_sounder(args.run_dir)
    except BadInput as err:
        sys.stdout.write(f"{err.text}\n")
        return False
    sys.stdout.write(f"sounder: sounds now, for {TRIAL_S} s. Do you hear it where you sleep?\n")
    sys.stdout.flush()
    return True


def _send(db: sqlite_utils.Database, chosen: Sequence[Channel]) -> bool:
    """Send a test through channels, and return whether all took it."""
    from daemon.clock import SystemClock
    from daemon.notify.other_messages import of_test
    from daemon.store import outbox

    clock = SystemClock()
    numbers = outbox.post(db, of_test(chosen), clock.utc())
    until_s = clock.now_s() + WAIT_S
    while True:
        fates = outbox.fates(db, numbers)
        if all(fate.sent_utc or fate.error for fate in fates) or clock.now_s() >= until_s:
            break
        clock.sleep_until(clock.now_s() + 0.1)
    for fate in fates:
        sys.stdout.write(f"{fate.channel}: {outcome_words(fate)}\n")
    if any(fate.sent_utc for fate in fates):
        sys.stdout.write("Sent does not mean heard: see whether it rings beside your bed, with your phone as it is "
                         "at night.\n")
    return all(fate.sent_utc for fate in fates)


def outcome_words(fate: Fate) -> str:
    """Return what became of a message, as a maker reads it."""
    if fate.sent_utc is not None and fate.error:
        return f"{fate.error}."
    if fate.sent_utc is not None:
        return f"taken after {(fate.sent_utc - fate.created_utc).total_seconds():.1f} s."
    if fate.error:
        return f"not taken: {fate.error.rstrip('.')}."
    return "nothing has tried it. Is lehrling deliver running?"


def _list(args: argparse.Namespace, db: sqlite_utils.Database) -> int:
    from daemon.store import alerts, firing_list, firings, found_parts, outbox

    if args.firing is None:
        listed = firing_list.matching(db, limit=1)
        if not listed:
            sys.stdout.write("No firing yet.\n")
            return 0
        firing = listed[0].firing
    else:
        found = firings.firing(db, args.firing)
        if found is None:
            raise BadInput(f"--firing {args.firing}", "there is no such firing.", "Leave it out for the latest.")
        firing = found
    sys.stdout.write(f"{firing.title}\n")
    raised = alerts.alerts(db, firing.firing_id)
    keyed_s = found_parts.keyed_in_at(db, firing.firing_id)
    for alert in raised:
        sys.stdout.write("\n".join(_alert_lines(alert, keyed_s)) + "\n")
    _write_messages(outbox.of_firing(db, firing.firing_id))
    if not raised:
        sys.stdout.write("Nothing was raised.\n")
    return 0


def _alert_lines(alert: Alert, keyed_s: Collection[float]) -> list[str]:
    from daemon.commands.printed.report_text import over_words
    from daemon.firing.alerts.registry import RANK_TITLES
    from daemon.firing.durations import firing_clock

    state = over_words(alert, keyed_s) or "standing"
    heard = f", acknowledged {firing_clock(alert.acknowledged_s)}" if alert.acknowledged_s is not None else ""
    under = f", under {alert.under}" if alert.under else ""
    return [f"[{RANK_TITLES[alert.rank]}] {alert.kind}, raised {firing_clock(alert.raised_s)}{heard}, {state}{under}",
            f"    {alert.text.what}"]


def _write_messages(fates: Sequence[Fate]) -> None:
    for fate in fates:
        sys.stdout.write(f"message {fate.outbox_id} to {fate.channel}: {fate.title}\n    {outcome_words(fate)}\n")


COMMAND = Command("try the ways to reach you; list what was raised", configure, run)
