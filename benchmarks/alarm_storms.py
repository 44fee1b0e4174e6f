"""What a night of trouble sends: ``python -m benchmarks.alarm_storms --storms 1000``.

Each storm is eight hours in which every kind of trouble comes, goes, flickers and changes its rank at random, with
acknowledgements and quiet spells between. Counted is how many messages one cause sent at one rank within its re-sound
time (one is promised; only an answered wake that gets 10 °C worse may sound sooner), and the loudest ten minutes.
Exit code 1 where the promise is broken.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from collections import defaultdict
from pathlib import Path
from typing import Any

from daemon.firing.alerts.board import Board
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import AlertChanged, Rank, Said, Saying, Text
from daemon.firing.kind import Finding, Kind
from daemon.firing.situation.view import Phase
from daemon.notify.alert_messages import Channel, rows_for

HOURS = 8.0
BEAT_S = 20.0
PHONE = [Channel("phone", Path("phone.url"))]


def _words(finding: Finding[Any]) -> Text:
    """Return a text for any finding."""
    return Text(f"{finding.kind.name}.", "It means.", "Do.")


class Trouble:
    """One kind of trouble that comes and goes by chance, some of it every few beats."""

    def __init__(self, kind: Kind[Any], chance: random.Random) -> None:
        self.kind, self.chance = kind, chance
        self.stands, self.since_s, self.rank = False, 0.0, Rank.LOOK
        self.restless = chance.choice((0.5, 0.1, 0.01))
        self.severity_c = 0.0

    def beat(self, t_s: float) -> Finding[Any] | None:
        """Return what is seen of it now."""
        if self.chance.random() < self.restless:
            self.stands, self.since_s = not self.stands, t_s
            self.rank = self.chance.choice(tuple(Rank))
        self.severity_c += self.chance.uniform(-1.0, 1.5)
        if not self.stands:
            return None
        return Finding(self.kind, self.rank, self.since_s, self.kind.examples[0].facts, severity_c=self.severity_c)


def storm(seed: int) -> list[AlertChanged]:
    """Return every step of every alert of one night."""
    chance = random.Random(seed)
    troubles = [Trouble(kind, chance) for kind in KINDS if chance.random() < 0.7]
    board, told = Board(KINDS, _words), list[AlertChanged]()
    for beat in range(int(HOURS * 3600 / BEAT_S)):
        t_s = beat * BEAT_S
        if chance.random() < 0.01:
            what = chance.choice((Saying.ACKNOWLEDGE, Saying.QUIET))
            told += board.hear(Said(t_s, what, chance.choice((None, chance.randint(1, 20))), 1800.0))
        if chance.random() < 0.002:
            board.enter(chance.choice(tuple(Phase)))
        found = [finding for trouble in troubles if (finding := trouble.beat(t_s)) is not None]
        told += board.judge(t_s, found, KINDS)
    return told


def worst(told: list[AlertChanged]) -> tuple[int, int, int]:
    """Return most messages a cause and rank within its re-sound time, the same for "over", and in ten minutes."""
    sent = [change for change in told if rows_for(change, "Storm", PHONE)]
    times: dict[tuple[str, Rank], list[float]] = defaultdict(list)
    ends: dict[str, list[float]] = defaultdict(list)
    for change in sent:
        if change.change == "over":
            ends[change.alert.kind].append(change.t_s)
        elif change.change != "resounded" or change.alert.acknowledged_s is None:
            times[change.alert.kind, change.alert.rank].append(change.t_s)
    most = max((_most(stamps, _resound_s(kind)) for (kind, _), stamps in times.items()), default=0)
    over = max((_most(stamps, _resound_s(kind)) for kind, stamps in ends.items()), default=0)
    return most, over, _most([change.t_s for change in sent], 600.0)


def _resound_s(kind: str) -> float:
    """Return how long a kind of alert is quiet before it sounds again [s]."""
    return next(known.resound_s for known in KINDS if known.name == kind)


def _most(stamps: list[float], within_s: float) -> int:
    """Return the most of ``stamps`` [s] that lie within less than ``within_s``."""
    return max(sum(start <= stamp < start + within_s for stamp in stamps) for start in stamps) if stamps else 0


def main() -> int:
    """Count and print."""
    parser = argparse.ArgumentParser(description="what do nights of random trouble send?")
    parser.add_argument("--storms", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    steps, messages, most, over, loudest = 0, 0, 0, 0, 0
    for seed in range(args.seed, args.seed + args.storms):
        told = storm(seed)
        found = worst(told)
        steps += len(told)
        messages += sum(bool(rows_for(change, "Storm", PHONE)) for change in told)
        most, over, loudest = max(most, found[0]), max(over, found[1]), max(loudest, found[2])
    sys.stdout.write(json.dumps({
        "storms": args.storms, "hours_each": HOURS, "steps": steps, "messages": messages,
        "most_a_cause_and_rank_within_its_resound_time": most, "most_ends_of_a_cause_within_it": over,
        "most_in_ten_minutes": loudest}) + "\n")
    return 0 if most <= 1 and over <= 1 else 1


if __name__ == "__main__":
    sys.exit(main())
