"""Explanations in shadow: what they say of firings while the watcher judges them, at which cost.

``python -m simulations.studies.explanations.shadow --faulty 60 --clean 40 --seed 3003 --plant second``. Nothing they
say reaches an alert. Asked is, of each fault that moves the temperature: which name has the watcher's first alert of
it, and which has the likeliest fault at that moment and two minutes later; and what the explanations would tell by
themselves.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from gzip import decompress
from math import inf
from pathlib import Path
from statistics import median
from time import process_time

from daemon.firing.alerts.registry import KINDS, Watches
from daemon.firing.events import Alert, Rank, Said, Sample, Text
from daemon.firing.kind import AtReadings, Finding, Kind, Reading, Stage
from daemon.firing.plan.plan import parse_plan
from daemon.firing.setup import Setup
from daemon.firing.situation.view import View
from daemon.firing.speaker import Speaker
from daemon.firing.step import begin, step
from daemon.firing.trace.csv_trace import read_trace
from daemon.firing.tracking.follower import BEAT_S
from daemon.glass.materials import FAMILIES
from simulations.studies.explanations.laws import EXPLAINED
from simulations.studies.explanations.model import Explanation, Explanations
from simulations.studies.onsets import Course, onset_s
from simulations.studies.quiet import is_as_meant
from simulations.studies.scoring import EARLY_S, QUIET_ROWS
from simulations.studies.study import Study, case_named, each, rows_of

OWN_NATS, OWN_BEATS = 8.0, 2
"""Explanations tell a fault by themselves that is likelier than the plan by so much, at so many beats in a row.
[chosen: three thousand to one]"""
_RECENT_S = 30.0
"""The temperature of a beat is the median of so many seconds. [from: daemon.firing.step._RECENT_S]"""
_LATER_S = 120.0
"""The likeliest fault is asked again so long after the alert [s]. [chosen: a wake is no later]"""
_AGAIN_S = 900.0
"""A fault of the same name within so long is the same one [s]. [from: daemon.firing.kind.SAME_TROUBLE_S]"""


@dataclass(frozen=True, slots=True)
class Asked:
    """A fault that should be told: the names that are right, those that count as found, and when [s]."""

    right: frozenset[str]
    found: frozenset[str]
    onset_s: float
    until_s: float


@dataclass(slots=True)
class Shadow:
    """Watches beside the others: sees every reading, finds nothing, and keeps what the explanations say."""

    model: Explanations
    told: list[tuple[float, Explanation]] = field(default_factory=list)
    beats: int = 0
    cpu_s: float = 0.0
    view: View | None = None
    next_s: float = -inf

    def see(self, now: Reading) -> Finding[None] | None:
        """Take a reading; at each beat let the explanations take it."""
        self.view = now.view or self.view
        t_s = now.sample.t_s
        temps = now.trail.temps[now.trail.index_at(t_s - _RECENT_S):]
        if self.view is None or t_s < self.next_s or not temps:
            return None
        self.next_s = t_s + BEAT_S
        began_s = process_time()
        said = self.model.see(t_s, median(temps), self.view)
        self.cpu_s += process_time() - began_s
        self.beats += 1
        if said is not None:
            self.told.append((t_s, said))
        return None

    def own(self) -> Iterator[tuple[float, str]]:
        """Yield the faults that the explanations would tell by themselves: when [s], and which kind."""
        run, last = 0, None
        told_s: dict[str, float] = {}
        for t_s, said in self.told:
            kind = said.kind if said.margin_nats >= OWN_NATS else None
            run = run + 1 if kind is not None and kind == last else 1
            last = kind
            if kind is not None and run >= OWN_BEATS:
                if run == OWN_BEATS and t_s - told_s.get(kind, -inf) > _AGAIN_S:
                    yield t_s, kind
                told_s[kind] = t_s

    def likeliest(self, t_s: float) -> str | None:
        """Return the kind of the likeliest fault as of ``t_s`` [s], whether or not the plan is likelier."""
        return next((said.fault for at_s, said in reversed(self.told) if at_s <= t_s), None)


@dataclass(frozen=True, slots=True)
class Compared:
    """One fault, as the watcher named it and as the explanations did; None where it was not told."""

    kind: str
    first: bool | None
    """Whether the first name of the watcher's alert is right."""
    last: bool | None
    at_alert: bool
    later: bool
    own: bool | None
    watch_min: float | None
    own_min: float | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """One firing: what was compared, or, where nothing was wrong, how many alerts and explanations there were."""

    compared: tuple[Compared, ...]
    is_quiet: bool
    alerts: int
    explanations: int
    beats: int
    cpu_s: float


def _no_words(finding: Finding[None], speaker: Speaker) -> Text:
    """Return no words: the shadow finds nothing, so nobody reads them."""
    return Text("", "", "")


def shadowed(setup: Setup, entries: Sequence[Sample | Said]) -> tuple[tuple[Alert, ...], Shadow]:
    """Return the watcher's alerts of a firing, and what the explanations said meanwhile."""
    state = begin(setup)
    shadow = Shadow(Explanations(state.parts))
    kind: Kind[None] = Kind(name="shadow", watch=AtReadings(Stage.AFTER_BEAT, lambda _: shadow.see), words=_no_words,
                            examples=(), on_delay_s=0.0, off_delay_s=0.0)
    state.watches = Watches((*KINDS, kind), setup)
    for entry in entries:
        state, _ = step(state, entry)
    return state.board.alerts, shadow


def outcome(setup: Setup, entries: Sequence[Sample | Said], asked: Sequence[Asked], *, is_quiet: bool) -> Outcome:
    """Return how watcher and explanations compare in one firing."""
    alerts, shadow = shadowed(setup, entries)
    told = [alert for alert in alerts if alert.rank is not Rank.LOG and alert.under is None]
    own = list(shadow.own())
    return Outcome(
        tuple(compare(fault, told, own, shadow) for fault in asked), is_quiet,
        sum(alert.kind in EXPLAINED for alert in told), len(own), shadow.beats, shadow.cpu_s)


def compare(fault: Asked, told: Sequence[Alert], own: Sequence[tuple[float, str]], shadow: Shadow) -> Compared:
    """Return how a fault was named."""
    def is_due(t_s: float) -> bool:
        return fault.onset_s - EARLY_S <= t_s <= fault.until_s

    hits = [alert for alert in told
            if is_due(alert.raised_s) and fault.found & {alert.kind, *(kind for _, kind in alert.named)}]
    alert = min(hits, key=lambda hit: hit.raised_s, default=None)
    mine = next(((t_s, kind) for t_s, kind in own if is_due(t_s) and kind in fault.found), None)
    return Compared(
        min(fault.right),
        None if alert is None else (alert.named[0][1] if alert.named else alert.kind) in fault.right,
        None if alert is None else alert.kind in fault.right,
        alert is not None and shadow.likeliest(alert.raised_s) in fault.right,
        alert is not None and shadow.likeliest(alert.raised_s + _LATER_S) in fault.right,
        None if mine is None else mine[1] in fault.right,
        None if alert is None else (alert.raised_s - fault.onset_s) / 60,
        None if mine is None else (mine[0] - fault.onset_s) / 60)


def of_the_bench(name: str) -> Outcome | None:
    """Return the outcome of a firing of the bench; None where nothing is asked of it."""
    case = case_named(name)
    fired = case.fire()
    case = case.labelled(fired)
    course = Course(case, fired)
    is_quiet = case.row in QUIET_ROWS
    onsets = [(expected, onset_s(expected, course)) for expected in case.expected]
    asked = [Asked(frozenset(want.kinds), frozenset((*want.kinds, *want.near)), at_s, at_s + want.within_s)
             for want, at_s in onsets if at_s is not None and want.kinds[0] in EXPLAINED]
    if not asked and not (is_quiet and is_as_meant(case, course)):
        return None
    return outcome(case.setup, case.entries(fired), asked, is_quiet=is_quiet)


def labelled(folder: Path, every: int) -> list[str]:
    """Return the folders of recorded firings: all faulty ones, and each ``every``-th in which nothing is wrong."""
    faulty: list[str] = []
    quiet: list[str] = []
    for path in sorted(folder.glob("**/truth.json")):
        is_faulty = json.loads(path.read_text(encoding="utf-8"))["group"] == "faulty"
        (faulty if is_faulty else quiet).append(str(path.parent))
    return faulty + quiet[::every]


def recorded(folder: str) -> Outcome | None:
    """Return the outcome of a recorded firing with labels, a folder of its own; None where nothing is asked of it."""
    here = Path(folder)
    truth = json.loads((here / "truth.json").read_text(encoding="utf-8"))
    is_quiet = truth["group"] != "faulty"
    asked = [Asked(frozenset((want["ideal"],)), frozenset(want["kinds"]), want["onset_s"], want["latest_s"])
             for want in truth["required"] if want["ideal"] in EXPLAINED]
    if not asked and not is_quiet:
        return None
    plan = parse_plan((here / "plan.toml").read_text(encoding="utf-8"), str(here / "plan.toml"))
    text = decompress((here / "trace.csv.gz").read_bytes()).decode()
    setup = Setup(plan, FAMILIES[str(truth["glass"])], float(truth["thickness_mm"]), unit=plan.unit)
    return outcome(setup, read_trace(text.splitlines(), folder).samples, asked, is_quiet=is_quiet)


def table(outcomes: Sequence[Outcome]) -> Iterator[str]:
    """Yield the comparison, in Markdown: a row for each kind, then what is told where nothing is wrong."""
    faults = [fault for found in outcomes if not found.is_quiet for fault in found.compared]
    yield ("| best name | asked | told | first name right | last name right | likeliest fault right then "
           "| 2 min later | told by itself | right | delay [min] | by itself |")
    yield "|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|"
    for kind in (*sorted({fault.kind for fault in faults}), None):
        rows = [fault for fault in faults if kind in (None, fault.kind)]
        yield "| " + " | ".join((kind or "all", *_row(rows))) + " |"
    quiet = [found for found in outcomes if found.is_quiet]
    cpu_s, beats = sum(found.cpu_s for found in outcomes), sum(found.beats for found in outcomes)
    yield ""
    yield (f"Nothing wrong: {len(quiet)} firings; looks and wakes of these kinds {sum(f.alerts for f in quiet)}, in "
           f"{sum(f.alerts > 0 for f in quiet)} firings; explanations by themselves "
           f"{sum(f.explanations for f in quiet)}, in {sum(f.explanations > 0 for f in quiet)} firings. "
           f"Cost: {1e6 * cpu_s / max(1, beats):.0f} µs a beat.")


def _row(rows: Sequence[Compared]) -> Iterator[str]:
    """Yield the cells of some faults."""
    told = [row for row in rows if row.first is not None]
    mine = [row for row in rows if row.own is not None]
    for number in (len(rows), len(told), sum(row.first is True for row in told),
                   sum(row.last is True for row in told), sum(row.at_alert for row in told),
                   sum(row.later for row in told), len(mine), sum(row.own is True for row in mine)):
        yield str(number)
    for delays in ([row.watch_min for row in told], [row.own_min for row in mine]):
        known = [delay for delay in delays if delay is not None]
        yield f"{median(known):.1f}" if known else ""


def main(arguments: list[str] | None = None) -> int:
    """Print the comparison of the firings asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clean", type=int, default=40, metavar="N")
    parser.add_argument("--faulty", type=int, default=60, metavar="N")
    parser.add_argument("--seed", type=int, default=1, metavar="S")
    parser.add_argument("--plant", choices=("first", "second"), default="first")
    parser.add_argument("--recorded", type=Path, metavar="FOLDER", help="labelled firings below that folder instead")
    parser.add_argument("--every", type=int, default=1, metavar="N",
                        help="of the recorded ones in which nothing is wrong only each Nth (1)")
    parser.add_argument("--jobs", type=int, default=None, metavar="N")
    args = parser.parse_args(arguments)
    if args.recorded is not None:
        found = each(recorded, labelled(args.recorded, args.every), args.jobs)
    else:
        study = Study(args.clean, 0, args.faulty, args.seed, rows_of(args.plant), args.plant)
        found = each(of_the_bench, study.names(), args.jobs)
    sys.stdout.write("\n".join(table([one for one in found if one is not None])) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
