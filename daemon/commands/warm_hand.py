"""The warm hand on the command line, for ``lehrling doctor`` and ``lehrling sensor check``."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from daemon.doctor.places import Places


def is_right(places: Places) -> bool:
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
