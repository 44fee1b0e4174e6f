"""Boundaries of the follower beside the best that hindsight gives: ``python -m benchmarks.hindsight``.

A general library for change points (ruptures: bottom-up merging, continuous piecewise-linear cost) is given the whole
trace, thinned to one reading a minute, and is told how many boundaries there are. The follower is told the plan, and
sees one reading after another. It needs ``pip install -e '.[study]'``.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Sequence
from importlib.util import find_spec
from itertools import pairwise
from statistics import median
from typing import Any

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.report import judge
from simulations.studies.study import case_named, each

THINNED_S = 60.0
SHORT_S = 300.0
"""Parts shorter than this are left out on both sides: a reading a minute does not show them."""


def main(arguments: list[str] | None = None) -> int:
    """Print the table; return 0, or 2 without the library."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.hindsight", description=__doc__)
    parser.add_argument("--firings", type=int, default=60, metavar="N", help="clean firings (60)")
    parser.add_argument("--seed", type=int, default=8_100_000_000, metavar="S", help="the first one's seed")
    args = parser.parse_args(arguments)
    if find_spec("ruptures") is None:
        sys.stderr.write("ruptures is not installed: pip install -e '.[study]'\n")
        return 2
    rows = [row for found in each(_errors, [f"clean-{args.seed + n}" for n in range(args.firings)]) for row in found]
    by_kind: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for kind, ours_s, theirs_s in rows:
        by_kind[kind].append((ours_s, theirs_s))
        by_kind["all"].append((ours_s, theirs_s))
    sys.stdout.write("| boundary | n | ours: median min | within 3 min % | hindsight: median | within 3 min % |\n")
    sys.stdout.write("|---|--:|--:|--:|--:|--:|\n")
    for kind in sorted(by_kind, key=lambda k: (k == "all", k)):
        pairs = by_kind[kind]
        cells = [f"{median(e) / 60:.1f} | {100 * sum(s <= 180 for s in e) / len(e):.0f}"
                 for e in ([a for a, _ in pairs], [b for _, b in pairs])]
        sys.stdout.write(f"| {kind} | {len(pairs)} | {' | '.join(cells)} |\n")
    return 0


def _errors(name: str) -> list[tuple[str, float, float]]:
    """Return (kind of boundary, our error, hindsight's error) of each true boundary [s]."""
    case = case_named(name)
    fired = case.fire()
    report = judge(case.setup, case.entries(fired))
    true = [p for p in fired.truth.parts if p.end_s is not None and p.end_s - p.start_s >= SHORT_S]
    read = [(s.t_s, s.temp_c) for s in fired.samples if s.temp_c is not None]
    thinned = read[::max(1, round(THINNED_S / case.interval_s))]
    if len(true) < 2 or len(thinned) < 50:
        return []
    bends = [thinned[i][0] for i in _bends([temp for _, temp in thinned], len(true) - 1)]
    planned = {(p.step, p.part): p for p in report.planned}
    found = []
    for before, part in pairwise(true):
        like = [abs(p.start_s - part.start_s) for p in report.parts if (p.step, p.part) == (part.step, part.part)]
        kind = f"{_word(planned[before.step, before.part])} to {_word(planned[part.step, part.part])}"
        found.append((kind, min(like, default=86400.0), min(abs(t_s - part.start_s) for t_s in bends)))
    return found


def _bends(temps: Sequence[float], number: int) -> list[int]:
    """Return the indices of the ``number`` bends that hindsight chooses."""
    import numpy as np
    import ruptures

    fitted: Any = ruptures.BottomUp(model="clinear", min_size=4, jump=2).fit(np.array(temps).reshape(-1, 1))
    return [i for i in fitted.predict(n_bkps=number) if i < len(temps)]


def _word(part: PlannedPart) -> str:
    """Return what a planned part is called in the table: hold, climb, fall, or free."""
    if part.part == "hold":
        return "hold"
    free = " freely" if part.rate_c_per_h is None else ""
    return ("climb" if part.direction > 0 else "fall") + free


if __name__ == "__main__":
    sys.exit(main())
