"""A board with a clock of its own, and findings to show it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from daemon.firing.alerts.board import Board
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import AlertChanged, Rank, Said, Saying, Text
from daemon.firing.kind import Finding, Kind

BEAT_S = 20.0
SOUNDS = ("raised", "woke", "resounded")
BY_NAME = {kind.name: kind for kind in KINDS}
RUNAWAY_RESOUND_S = BY_NAME["over-temperature"].resound_s


def words(finding: Finding) -> Text:
    return Text(f"{finding.kind.name} {finding.severity_c:g}", "It means.", "Do.")


def finding(kind: str, rank: Rank = Rank.WAKE, since_s: float = 0.0, severity_c: float = 0.0) -> Finding:
    known = BY_NAME[kind]
    return Finding(known, rank, since_s, known.examples[0].facts, severity_c=severity_c)


def another_plan(*, explains: bool) -> Finding:
    plain = finding("wrong-plan", Rank.LOOK)
    return replace(plain, facts=replace(plain.facts, explains=explains))


@dataclass
class Night:
    """A board with a clock of its own: says what it told."""

    kinds: tuple[Kind, ...]
    board: Board
    t_s: float
    changes: list[AlertChanged]

    @classmethod
    def of(cls, *kinds: str) -> Night:
        return cls(tuple(BY_NAME[kind] for kind in kinds), Board(KINDS, words), 0.0, [])

    def see(self, for_s: float, *found: Finding) -> list[AlertChanged]:
        """Judge the same findings every beat for a while; return what that changed."""
        told = []
        until_s = self.t_s + for_s
        while self.t_s < until_s:
            told += self.board.judge(self.t_s, found, self.kinds)
            self.t_s += BEAT_S
        self.changes += told
        return told

    def say(self, what: Saying, alert_no: int | None = None, for_s: float | None = None) -> list[AlertChanged]:
        return self.board.hear(Said(self.t_s, what, alert_no, for_s))


def names(changes: list[AlertChanged]) -> list[str]:
    return [change.change for change in changes]


def times(changes: list[AlertChanged], *which: str) -> list[float]:
    return [change.t_s for change in changes if change.change in which]


def with_time_left(left_s: float) -> tuple[Board, list[float]]:
    """Return a board whose one alert has time to act until the fall is over, and that time in a list to change."""
    left = [left_s]
    board = Board(KINDS, lambda finding: Text(f"{finding.severity_c:g} °C now.", "It means.", "Do.", left[0]))
    return board, left


def stop(severity_c: float = 500.0) -> Finding:
    return finding("firing-stopped", severity_c=severity_c)
