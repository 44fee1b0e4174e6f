"""What the doctor says on the command line: a line for each part, below it what to do; and the warm hand."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from daemon.doctor.finding import Finding
    from daemon.doctor.places import Places

TO_MEND = 1
"""Exit code where something is to be mended. [chosen: as a trial alert that was not delivered; 2 is bad input]"""
_WIDE = 20
"""Width of the column of parts [characters]. [chosen: the longest name of a part]"""


def write_findings(findings: Sequence[Finding]) -> None:
    """Write the findings, and how many ask for an act."""
    from daemon.doctor.finding import State

    words = {State.GOOD: "good", State.NOTE: "note", State.MEND: "MEND"}
    for finding in findings:
        sys.stdout.write(f"{words[finding.state]}  {finding.part:<{_WIDE}}  {finding.said}\n")
        if finding.do:
            sys.stdout.write(f"{'':{_WIDE + 8}}{finding.do}\n")
    count = sum(finding.state is State.MEND for finding in findings)
    sys.stdout.write("\nNothing is to be mended." if not count else
                     f"\n{count} thing{'' if count == 1 else 's'} to mend.")
    sys.stdout.write(" This is a helper, not a safety device.\n")


def hand_is_right(places: Places) -> bool:
    """Watch the probe while its tip is held in a hand; return whether its wires are the right way round."""
    from daemon.clock import SystemClock
    from daemon.doctor.warm_hand import CAUTION, WORDS, Verdict, watch_hand
    from daemon.doctor.warm_hand_probe import reads

    clock = SystemClock()
    sys.stdout.write(f"{CAUTION}\n")
    with reads(places, clock) as read_c:
        sys.stdout.write("Hold the tip of the thermocouple in your warm hand. This takes two minutes at the most.\n")
        sys.stdout.flush()
        verdict = watch_hand(read_c, clock.now_s, lambda s: clock.sleep_until(clock.now_s() + s), _show)
    sys.stdout.write(f"{WORDS[verdict]}\n")
    return verdict is Verdict.RIGHT


def _show(temp_c: float) -> None:
    """Show a reading on a terminal; a pipe gets none."""
    if sys.stdout.isatty():
        sys.stdout.write(f"\r{temp_c:6.1f} °C ")
        sys.stdout.flush()
