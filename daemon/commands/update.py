"""``lehrling update``: takes a newer package, and goes back by itself where the kiln is not watched with it."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from daemon.commands.folders import add_places
from daemon.errors import BadInput
from daemon.subcommand import Command

NOT_UPDATED = 1
"""Exit code where the last version is back, or nothing watches. [chosen: 2 is bad input]"""


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("file", metavar="FILE", type=Path, help="the package, such as ./lehrling_0.2.0_arm64.deb")
    add_places(parser, run_holds="the present state")
    parser.add_argument("--while-hot", action="store_true",
                        help="although the kiln is hot or a firing is open: nobody watches it meanwhile")


def run(args: argparse.Namespace) -> int:
    """Update; 1 where the last version is back, or nothing watches."""
    # All of it now: the files are exchanged meanwhile.
    from daemon.update.debian import Debian
    from daemon.update.steps import Outcome, update

    if os.geteuid() != 0:
        raise BadInput("lehrling update", "only root may install a package.", "Type: sudo lehrling update FILE")
    outcome = update(args.file, Debian(args.data, args.run_dir), _say, while_hot=args.while_hot)
    if outcome is Outcome.SAME:
        _say("That version is installed already.")
    return 0 if outcome in (Outcome.DONE, Outcome.SAME) else NOT_UPDATED


def _say(sentence: str) -> None:
    """Write a line at once."""
    sys.stdout.write(sentence + "\n")
    sys.stdout.flush()


COMMAND = Command("take a newer package; go back by itself where it does not watch", configure, run)
