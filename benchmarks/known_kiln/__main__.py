"""Whether a kiln that is known is watched better: ``python -m benchmarks.known_kiln``.

Each simulated kiln fires four times. It is learned from the first three, and the fourth is judged with and without
that: as a quiet firing, and with each of some faults. Kilns 2000 to 2019 of the bench were looked at while the rules
were made; 2020 to 2039 check them; those of the second plant judge.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from multiprocessing import Pool
from statistics import median
from typing import NamedTuple

from benchmarks.foresight.__main__ import by_minute
from benchmarks.known_kiln.nights import FAST, QUIET, Night, Nights, bench_nights, second_nights
from daemon.firing.energy.known_kiln import KnownKiln
from daemon.firing.events import Alert, Rank
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.report import Report, judge
from daemon.firing.setup import Setup
from daemon.firing.tracking.offset_history import HoldOffset, OffsetBands, hold_offset, usual_offsets
from daemon.glass.materials import FAMILIES
from daemon.kiln.learn import learn
from daemon.kiln.past_firing import PastFiring, Ran, is_quiet

TELLS = {
    "weak element": ("not-climbing",),
    "stall": ("not-climbing", "not-cooling", "hold-overrun", "hold-off-target"),
    "power lost in the climb": ("firing-stopped", "sudden-drop"),
    "power lost in the cooling": ("cooling-too-fast", "firing-stopped", "sudden-drop"),
    "welded in the free fall": ("not-cooling", "restarted", "over-temperature"),
    "welded in the cooling": ("not-cooling", "restarted", "over-temperature"),
}
"""The kinds that tell a fault."""


class Judged(NamedTuple):
    """What was told of one firing, without and with what the kiln's past taught."""

    kiln: str
    is_weak: bool
    is_known: bool
    what: str
    fault_s: float | None
    without: tuple[Alert, ...]
    knowing: tuple[Alert, ...]


def judged(nights: Nights) -> list[Judged]:
    """Return what was told of a kiln's fourth firings."""
    past, offsets = [], []
    for night in nights.past:
        found = _judge(night, None, {})
        past.append(_past(night, found))
        offsets.append(_offsets(night, found))
    model = learn(past)
    known, usual = None if model is None else model.for_watches, usual_offsets(offsets)
    told = []
    for what, night in nights.tonight.items():
        fault_s, until_s = _when(what, night)
        if what not in (QUIET, FAST) and (fault_s is None or known is None):
            continue  # the firing was over before the fault came, or nothing can be told otherwise
        without = _judge(night, None, usual, until_s).alerts
        knowing = without if known is None else _judge(night, known, usual, until_s).alerts
        told.append(Judged(nights.kiln, nights.is_weak, known is not None, what, fault_s, without, knowing))
    return told


def _judge(night: Night, known: KnownKiln | None, usual: OffsetBands, until_s: float = float("inf")) -> Report:
    made = night.made
    setup = Setup(made.plan, FAMILIES[made.glass], made.thickness_mm, usual_by_band=usual, kiln=known)
    return judge(setup, [sample for sample in night.fired.samples if sample.t_s <= until_s])


def _past(night: Night, found: Report) -> PastFiring:
    ran = [Ran(part.index, part.start_s, part.end_s) for part in found.parts if part.end_s is not None]
    return PastFiring(found.planned, ran, by_minute(night.fired),
                      is_quiet((alert.kind, alert.rank.value) for alert in found.alerts))


def _offsets(night: Night, found: Report) -> list[HoldOffset]:
    planned = planned_parts(night.made.plan)
    offsets = (hold_offset(part, planned[part.index].to_c, part.start_s) for part in found.parts)
    return [offset for offset in offsets if offset is not None]


def _when(what: str, night: Night) -> tuple[float | None, float]:
    """Return when the fault of a firing began, and until when it is watched [s]."""
    if what in (QUIET, FAST):
        return None, float("inf")
    names = ("sag", "element-out", "stuck", "power-cut", "runaway", "welded")
    fault = next((happened for happened in night.fired.truth.faults if happened.name in names), None)
    if fault is None:
        return None, 0.0
    is_for_good = fault.until_s is None or what == "weak element"
    return fault.at_s, (night.fired.truth.times_s[-1] if is_for_good else fault.until_s or 0.0)


def _delay_min(one: Judged, alerts: Sequence[Alert], *, wakes: bool) -> float | None:
    """Return how long after a fault began it first woke, or was a look [min]; None for never."""
    fault_s = one.fault_s or 0.0
    times = [alert.woke_s if wakes else alert.raised_s for alert in alerts
             if alert.kind in TELLS[one.what] and alert.rank in ((Rank.WAKE,) if wakes else (Rank.WAKE, Rank.LOOK))]
    after = [(t_s - fault_s) / 60 for t_s in times if t_s is not None and t_s >= fault_s]
    return min(after, default=None)


def quiet_table(found: Sequence[Judged]) -> Iterator[str]:
    """Yield what was told of quiet firings, in Markdown."""
    yield "| quiet firings | n | known | wakes without | wakes knowing | looks without | looks knowing |"
    yield "|---|--:|--:|--:|--:|--:|--:|"
    for what, name, is_weak in ((what, f"{what}, {name}", is_weak) for what in (QUIET, FAST)
                                for name, is_weak in (("weak kilns", True), ("the others", False))):
        these = [one for one in found if one.what == what and one.is_weak is is_weak]
        if these:
            counts = [sum(alert.rank is rank for one in these for alert in alerts(one))
                      for rank in (Rank.WAKE, Rank.LOOK) for alerts in (_without, _knowing)]
            yield (f"| {name} | {len(these)} | {sum(one.is_known for one in these)} | "
                   + " | ".join(str(count) for count in counts) + " |")


def _without(one: Judged) -> tuple[Alert, ...]:
    return one.without


def _knowing(one: Judged) -> tuple[Alert, ...]:
    return one.knowing


def fault_table(found: Sequence[Judged]) -> Iterator[str]:
    """Yield how soon faults were told in kilns that are known, in Markdown."""
    yield ("| fault, in kilns that are known | n | | told without | knowing | median min without | knowing "
           "| sooner | later |")
    yield "|---|--:|---|--:|--:|--:|--:|--:|--:|"
    for what in TELLS:
        these = [one for one in found if one.what == what and one.is_known]
        for wakes in (False, True):
            pairs = [(_delay_min(one, one.without, wakes=wakes), _delay_min(one, one.knowing, wakes=wakes))
                     for one in these]
            sooner, later = (sum(_is_sooner(a, b) for a, b in each) for each in (
                pairs, [(b, a) for a, b in pairs]))
            sides = [[told for pair in pairs if (told := pair[side]) is not None] for side in (0, 1)]
            medians = " | ".join(f"{median(side):.0f}" if side else "" for side in sides)
            yield (f"| {what} | {len(pairs)} | {'wake' if wakes else 'look'} | {len(sides[0])} | {len(sides[1])} | "
                   f"{medians} | {sooner} | {later} |")


def _is_sooner(without: float | None, knowing: float | None) -> bool:
    """Return whether it was told at least a minute sooner, or told at all, for knowing the kiln."""
    return knowing is not None and (without is None or knowing <= without - 1.0)


def changes(found: Sequence[Judged]) -> Iterator[str]:
    """Yield each firing of which something else was told, in a line."""
    for one in found:
        before, after = _told(one.without), _told(one.knowing)
        if before != after:
            yield f"{one.kiln}{' weak' if one.is_weak else ''}, {one.what}: {before} -> {after}"


def _told(alerts: Sequence[Alert]) -> str:
    times = ((alert, alert.raised_s if alert.woke_s is None else alert.woke_s) for alert in alerts)
    return ", ".join(f"{alert.kind} {alert.rank.value} {t_s / 60:.0f} min" for alert, t_s in times) or "nothing"


def _kiln(asked: tuple[str, int]) -> list[Judged]:
    plant, seed = asked
    return judged((second_nights if plant == "second" else bench_nights)(seed))


def main(arguments: list[str] | None = None) -> int:
    """Print both tables, and with ``--changes`` each firing of which something else was told."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.known_kiln", description=__doc__)
    parser.add_argument("--plant", choices=("bench", "second"), default="bench", help="which kilns (bench)")
    parser.add_argument("--kilns", type=int, default=20, metavar="N", help="how many (20)")
    parser.add_argument("--first", type=int, default=2020, metavar="S", help="the first one's seed (2020)")
    parser.add_argument("--jobs", type=int, default=2, metavar="J", help="processes (2)")
    parser.add_argument("--changes", action="store_true", help="also list what was told otherwise")
    args = parser.parse_args(arguments)
    with Pool(args.jobs) as pool:
        found = [one for kiln in pool.imap(_kiln, [(args.plant, args.first + n) for n in range(args.kilns)])
                 for one in kiln]
    report(found, lists_changes=args.changes)
    return 0


def report(found: Sequence[Judged], *, lists_changes: bool) -> None:
    """Print what came of it."""
    lines = [*quiet_table(found), "", *fault_table(found), *(["", *changes(found)] if lists_changes else [])]
    sys.stdout.writelines(line + "\n" for line in lines)


if __name__ == "__main__":
    sys.exit(main())
