"""Whether wear is told of kilns that wear, and of none that do not: ``python -m benchmarks.wear``.

Each kiln fires plans at random, in rooms, with loads and mains that differ from night to night. From the ninth firing
on a copy of it has lost a tenth of its power, another loses it by a fiftieth a firing, a third loses 15 % more heat,
and the probe of a fourth reads 5 K higher. After each firing it is asked whether the kiln has changed. On the sound
kilns it is also counted whether climbs that the kiln can't follow are foreseen. Kilns 1000 to 1059 of the bench were
looked at while the rules were made; 1300 to 1399 checked them; 1600 on and those of the second plant judge.
"""

from __future__ import annotations

import argparse
import pickle
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from multiprocessing import Pool
from pathlib import Path
from typing import NamedTuple

from benchmarks.wear.drawing import Run, runs
from benchmarks.wear.follows import Asked, followed
from benchmarks.wear.kilns import SOUND, Fired, Wear, fired, with_probe
from daemon.files import write_text
from daemon.kiln.falls import thermal_of
from daemon.kiln.wear.judged import Finding, can_judge_elements, judged
from daemon.kiln.wear.shown import FITTED_FIRINGS, Shown, shown

BEFORE, SINCE, QUIET = 8, 5, 13
"""Firings of a sound kiln before it wears, those in which wear is to be found, and those of one that stays sound."""
STEPS = 5
"""A kiln that tires has lost a tenth after so many firings, and is looked at for as many more."""
WORN = {"elements": Wear(power=0.9), "lining": Wear(loss=1.15), "probe": Wear(probe_k=5.0)}
_CAUSE = {"elements": "elements", "tiring": "elements", "lining": "lining", "probe": "probe"}


class Told(NamedTuple):
    """What was told of one kiln."""

    kiln: str
    wear: str
    """What is worn: a key of WORN, "tiring", or "none"."""
    after: int | None
    """How many firings after the change it was told; None where it was not."""
    cause: str
    is_judged: bool
    """Whether enough firings had a climb with all power on."""


def kiln_of(asked: tuple[str, int, Sequence[str], Path | None]) -> tuple[list[Told], list[Asked], list[Run]]:
    """Return what was told of one kiln, sound and worn, and what was foreseen of its climbs."""
    plant, seed, worn, folder = asked
    kept = None if folder is None else folder / f"{plant}-{seed}.pickle"
    if kept is not None and kept.is_file():
        firings = pickle.loads(kept.read_bytes())
    else:
        firings = _firings(plant, seed, worn)
        if kept is not None:
            kept.write_bytes(pickle.dumps(firings))
    name = f"{plant}-{seed}"
    sound = firings["none"]
    told, drawn, thermal = [], [], thermal_of([one.past for one in sound[:FITTED_FIRINGS]])
    for wear, since in firings.items():
        past = sound if wear == "none" else [*sound[:BEFORE], *since]
        seen = shown([one.past for one in past], thermal)
        told.append(_told(name, wear, seen))
        drawn.append(Run(name, wear, seen))
    return told, followed(name, sound), drawn


def _firings(plant: str, seed: int, worn: Sequence[str]) -> dict[str, list[Fired]]:
    """Return the firings of a sound kiln ("none"), and those that its worn copies make of the later ones."""
    found = {"none": [fired(plant, seed, number) for number in range(QUIET)]}
    found["probe"] = [with_probe(one, WORN["probe"].probe_k) for one in found["none"][BEFORE:]]
    for name in worn:
        found[name] = [fired(plant, seed, BEFORE + n, WORN[name]) for n in range(SINCE)] if name in WORN else [
            fired(plant, seed, BEFORE + n, SOUND._replace(power=1 - 0.1 * min(1.0, (n + 1) / STEPS)))
            for n in range(STEPS + SINCE)]
    return found


def _told(kiln: str, wear: str, seen: Sequence[Shown]) -> Told:
    """Ask after each firing whether the kiln has changed; return the first time that it was told."""
    first: Finding | None = None
    count = 0
    for count in range(1 if wear == "none" else BEFORE + 1, len(seen) + 1):
        first = judged(seen[:count])
        if first is not None:
            break
    after = None if first is None else count - (0 if wear == "none" else BEFORE)
    return Told(kiln, wear, after, "" if first is None else first.cause, can_judge_elements(seen))


def _worn(number: int, every: int) -> tuple[str, ...]:
    """Return which worn copies a kiln has: those that tire take long, so that half as many do."""
    if not every or number % every:
        return ()
    return ("elements", "lining") if number % (2 * every) else ("elements", "lining", "tiring")


def lines(told: Sequence[Told], climbs: Sequence[Asked]) -> Iterator[str]:
    """Yield the tables, in Markdown."""
    yield "| kilns | n | told | within 5 firings | named right | of those that can be judged: n | within 5 |"
    yield "|---|--:|--:|--:|--:|--:|--:|"
    for wear in ("none", "elements", "tiring", "lining", "probe"):
        mine = [one for one in told if one.wear == wear]
        if not mine:
            continue
        found = [one for one in mine if one.after is not None]
        late = STEPS if wear == "tiring" else 0
        soon = [one for one in found if (one.after or 0) <= SINCE + late]
        right = sum(one.cause == _CAUSE.get(wear) for one in found)
        able = [one for one in mine if one.is_judged]
        in_time = "–" if wear == "none" else f"{len(soon)}"
        named = "–" if wear == "none" else f"{right}"
        yield (f"| {wear} | {len(mine)} | {len(found)} | {in_time} | {named} | {len(able)} | "
               f"{sum(one in able for one in soon)} |")
    yield ""
    counts = Counter((one.truth, one.said) for one in climbs)
    yield "| climbs | n | told | told that nobody tried | not told |"
    yield "|---|--:|--:|--:|--:|"
    for truth, name in (("can't", "can't follow, for 20 minutes or more"), ("can", "follow")):
        each = [counts[truth, said] for said in ("told", "untried", "silent")]
        yield f"| {name} | {sum(each)} | " + " | ".join(map(str, each)) + " |"


def main(arguments: list[str] | None = None) -> int:
    """Print the tables."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.wear", description=__doc__)
    parser.add_argument("--plant", choices=("bench", "second"), default="bench", help="which kilns (bench)")
    parser.add_argument("--kilns", type=int, default=12, metavar="N", help="how many (12)")
    parser.add_argument("--first", type=int, default=1300, metavar="S", help="the first one's seed (1300)")
    parser.add_argument("--worn", type=int, default=4, metavar="K", help="one in so many has worn copies (4)")
    parser.add_argument("--draw", metavar="FILE.svg", help="draw what the firings of some kilns show")
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="keep the firings there for a later run")
    parser.add_argument("--jobs", type=int, default=1, metavar="J", help="processes (1)")
    args = parser.parse_args(arguments)
    if args.keep is not None:
        args.keep.mkdir(parents=True, exist_ok=True)
    asked = [(args.plant, args.first + n, _worn(n, args.worn), args.keep) for n in range(args.kilns)]
    with Pool(args.jobs) as pool:
        results = pool.map(kiln_of, asked, chunksize=1)
    told = [one for all_told, _, _ in results for one in all_told]
    sys.stdout.writelines(line + "\n" for line in lines(told, [one for _, each, _ in results for one in each]))
    false = ", ".join(f"{one.kiln} {one.cause} at firing {one.after}" for one in told
                      if one.wear == "none" and one.after is not None)
    sys.stdout.write(f"\nTold of sound kilns: {false or 'nothing'}.\n")
    if args.draw:
        write_text(args.draw, runs([each for _, _, drawn in results for each in drawn]), like="<svg")
    return 0


if __name__ == "__main__":
    sys.exit(main())
