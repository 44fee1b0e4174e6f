"""A hunt for the firings in which the watcher does worst: drawn at random, then changed a little, the worst first."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

from simulations.cases import Case
from simulations.generator import CLEAN, HARSH
from simulations.studies.badness import AIMS, Badness
from simulations.studies.faulty.case import faulty_case
from simulations.studies.faulty.table import ROWS
from simulations.studies.kept import FILE, PREFIX, Kept, changed, differences, fingerprint, read_kept, write_kept
from simulations.studies.nearby import Place, Tape, nearby
from simulations.studies.study import SEEDS_APART, kept_case

QUIET_ROWS = (CLEAN, CLEAN, HARSH)
"""Rows of quiet firings, each as often as it is drawn."""


@dataclass(frozen=True, slots=True)
class Finding:
    """A firing that was judged: the drawn one it began from, its draws, and how badly it went."""

    start: str
    given: Mapping[Place, float]
    case: Case
    bad: Badness

    def kept(self, name: str, aim: str) -> Kept:
        """Return it as it stays in a file; what the file gives is the very same firing."""
        base = Tape({}).case(self.start)
        changes = differences(base, self.case)
        if changed(base, changes) != self.case:
            raise AssertionError(f"{self.start}: its changes do not make it again")
        return Kept(name, aim, self.start, fingerprint(base), self.bad.told, changes)


@dataclass(frozen=True, slots=True)
class Hunt:
    """How long and from where: the same figures find the same, unless time runs out.

    Attributes
    ----------
    draws, steps
        Firings drawn at random; small changes tried after that.
    seed
        Of the draws and of the changes.
    keep
        From so many of the worst mechanisms the search goes on.
    """

    draws: int
    steps: int
    seed: int
    keep: int = 5


@dataclass(frozen=True, slots=True)
class Hunted:
    """What came of a hunt: the worst of each mechanism, the worst first, and how many firings were tried."""

    worst: tuple[Finding, ...]
    drawn: int
    """Drawn at random."""
    stepped: int
    """Changed a little."""
    counted: int
    """Of both, those that count."""


def rows_for(aim: str) -> tuple[str, ...]:
    """Return the rows to draw from: quiet ones, or the faults of which one should wake."""
    if aim == "wakes":
        return QUIET_ROWS
    return tuple(row for row in ROWS if any(e.rank == "wake" for e in faulty_case(row, 1).expected))


def hunt(judge: Callable[[Case], Badness | None], rows: Sequence[str], how: Hunt,
         is_over: Callable[[], bool] = lambda: False) -> Hunted:
    """Return the worst firings by ``judge``, which gives None to one that does not count.

    ``is_over`` ends it early: it is asked before every firing.
    """
    rng = Random(f"hunt {how.seed}")
    worst: dict[str, Finding] = {}
    drawn = stepped = counted = 0
    while drawn < how.draws and not is_over():
        name = f"{rows[drawn % len(rows)]}-{how.seed * SEEDS_APART + drawn // len(rows)}"
        drawn += 1
        counted += _take(judge, worst, name, {}, Tape({}).case(name))
    while worst and stepped < how.steps and not is_over():
        ranked = _ranked(worst)[:how.keep]
        best = ranked[stepped % len(ranked)]
        stepped += 1
        near = nearby(best.start, best.given, rng)
        if near is not None:
            counted += _take(judge, worst, best.start, *near)
    return Hunted(tuple(_ranked(worst)), drawn, stepped, counted)


def _take(judge: Callable[[Case], Badness | None], worst: dict[str, Finding], name: str,
          given: Mapping[Place, float], case: Case) -> bool:
    """Judge a firing and keep it where it is the worst of its mechanism; return whether it counts."""
    bad = judge(case)
    if bad is None:
        return False
    known = worst.get(bad.mechanism)
    if known is None or bad.weight > known.bad.weight:
        worst[bad.mechanism] = Finding(name, given, case, bad)
    return True


def _ranked(worst: Mapping[str, Finding]) -> list[Finding]:
    """Return the worst of each mechanism, the worst first; of two alike the one found first."""
    return sorted(worst.values(), key=lambda found: found.bad.weight, reverse=True)


def hunt_for(aim: str, how: Hunt, is_over: Callable[[], bool]) -> Hunted:
    """Return what is found for one of AIMS on the bench."""
    return hunt(AIMS[aim], rows_for(aim), how, is_over)


def keep(found: Hunted, aim: str, seed: int, most: int, path: Path = FILE) -> tuple[str, ...]:
    """Write the worst mistakes, at most ``most``, into the file and return their names.

    What an earlier hunt of the same aim and seed left is replaced.
    """
    new = [each.kept(f"{PREFIX}{aim}-{seed}-{n}", aim) for n, each in enumerate(mistakes(found)[:most], start=1)]
    old = [kept for kept in read_kept(path) if not kept.name.startswith(f"{PREFIX}{aim}-{seed}-")]
    write_kept((*old, *new), path)
    return tuple(kept.name for kept in new)


def mistakes(found: Hunted) -> list[Finding]:
    """Return the findings in which the watcher was wrong, the worst first."""
    return [each for each in found.worst if each.bad.is_bad]


def report(found: Hunted, aim: str, draws: int, steps: int, seed: int) -> list[str]:
    """Return what a hunt found, line by line, the worst first."""
    lines = [f"{found.drawn} firings drawn, {found.stepped} small changes tried; {found.counted} of them count."]
    if (found.drawn, found.stepped) != (draws, steps):
        lines.append(f"Time was up before all {draws} draws and {steps} steps.")
    for number, each in enumerate(mistakes(found), start=1):
        changes = differences(Tape({}).case(each.start), each.case)
        lines += ["", f"{number}. {each.bad.mechanism} ({each.start})", f"   {each.bad.told}"]
        lines += [f"   changed: {path} = {value}" for path, value in changes.items()]
        if not changes:
            lines.append(f"   Run it again: python -m simulations case {each.start}")
    if not mistakes(found):
        lines.append("No mistake was found.")
    return [*lines, "", f"The same hunt: python -m simulations hunt --for {aim} --seed {seed} "
                        f"--draws {found.drawn} --steps {found.stepped}"]


def again(path: Path = FILE) -> list[str]:
    """Judge every kept firing and return a line for each: whether it is still a mistake."""
    lines = []
    for kept in read_kept(path):
        case = kept_case(kept, str(path))
        bad = AIMS[kept.aim](case)
        now = "no longer counts: it isn't run as meant, or its fault does no harm." if bad is None else bad.told
        verdict = "STILL" if bad is not None and bad.is_bad else "MENDED"
        other = "" if fingerprint(Tape({}).case(kept.start)) == kept.drawn else (
            f" (The bench draws {kept.start} otherwise than when this was kept.)")
        lines.append(f"{kept.name:<26} {verdict:<7} {now}{other}")
    return lines or ["No firing is kept."]
