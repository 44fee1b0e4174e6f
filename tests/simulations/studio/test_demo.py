"""A demonstration waits for its firing, follows it, and knows when it is over."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import pytest

from daemon.errors import BadInput
from daemon.firing.events import Alert, Rank, Text
from simulations.studio.demo import Demonstration
from simulations.studio.demo_folder import Wish


@dataclass
class Clock:
    now: float = 0.0

    def now_s(self) -> float:
        return self.now

    def sleep_until(self, deadline_s: float) -> None:
        self.now = deadline_s

    def utc(self) -> datetime:
        return datetime(2026, 3, 4, tzinfo=UTC)


@dataclass
class House:
    folder: Path
    gone: str | None = None
    started: list[list[str]] = field(default_factory=list)

    def start(self, name: str, arguments: list[str]) -> None:
        self.started.append(arguments)

    def lost(self) -> str | None:
        return self.gone

    def log(self, name: str) -> Path:
        return self.folder / f"{name}.log"

    def last_words(self, name: str) -> str:
        return "lehrling: no luck"


@dataclass
class FakeStage:
    wish: Wish
    outcomes: list[str | None] = field(default_factory=lambda: [None, "done"])
    looks_left: int = 3
    rank: Rank = Rank.LOOK
    asked_to_end: bool = False

    def outcome(self):
        word = self.outcomes.pop(0) if self.outcomes else None
        return word, SimpleNamespace(firing_id=5) if word == "done" else None

    def has_ended(self, firing_id: int | None) -> bool:
        assert firing_id == 5
        self.looks_left -= 1
        return self.looks_left < 0 or self.asked_to_end

    def alerts(self, firing_id: int | None):
        return [Alert(1, "not-climbing", self.rank, 0.0, 1.0, Text("a", "b", "c"))]

    def ask_end(self, firing_id: int | None, now_utc: datetime) -> None:
        self.asked_to_end = True


class Shown:
    def __init__(self) -> None:
        self.times: list[float] = []

    def show(self, present, wall_s: float) -> None:
        self.times.append(present["t_s"])


@pytest.fixture
def stage(tmp_path) -> FakeStage:
    (tmp_path / "run").mkdir()
    return FakeStage(Wish(tmp_path, "top-loader", (), 7))


def made(stage: FakeStage, status=None) -> tuple[Demonstration, House]:
    house = House(stage.wish.folder)
    return Demonstration(stage, house, status or Shown(), Clock()), house


def tell(stage: FakeStage, **present) -> None:
    (stage.wish.run_dir / "present.json").write_text(json.dumps(present), encoding="utf-8")


def test_daemon_and_page_are_started_and_delivery_only_where_wished(stage, tmp_path):
    show, house = made(stage)
    show.start(8080, 300.0)
    assert [arguments[0] for arguments in house.started] == ["daemon", "web"]
    assert house.started[0][-2:] == ["--speed", "300"]
    stage.wish = Wish(tmp_path, "top-loader", (), 7, tmp_path / "url")
    show.start(8080, 300.0)
    assert house.started[-1][0] == "deliver"


def test_it_waits_for_the_firing_to_be_opened(stage):
    show, _ = made(stage)
    show.open()
    assert show.firing_id == 5


def test_a_refused_start_is_told(stage):
    stage.outcomes = ["refused: no such plan"]
    show, _ = made(stage)
    with pytest.raises(BadInput, match="no such plan"):
        show.open()


def test_a_daemon_that_opens_nothing_is_told_with_its_log(stage):
    stage.outcomes = []
    show, _ = made(stage)
    with pytest.raises(BadInput, match=r"daemon\.log"):
        show.open()


def test_a_process_that_died_is_told_with_its_last_words(stage):
    show, house = made(stage)
    house.gone = "web"
    with pytest.raises(BadInput, match="no luck"):
        show.open()


def test_it_follows_to_the_end_and_shows_only_its_own_firing(stage):
    shown = Shown()
    show, _ = made(stage, shown)
    show.open()
    tell(stage, firing_id=4, t_s=99.0)
    stage.looks_left = 1
    show.follow(1000.0)
    assert shown.times == []
    tell(stage, firing_id=5, t_s=200.0)
    stage.looks_left = 2
    show.follow(1000.0)
    assert shown.times == [200.0, 200.0]


def test_half_a_state_file_is_no_obstacle(stage):
    show, _ = made(stage)
    show.open()
    (stage.wish.run_dir / "present.json").write_text('{"firing_id": 5, "t', encoding="utf-8")
    show.follow(1000.0)


def test_a_firing_that_never_ends_is_ended_by_hand(stage):
    show, _ = made(stage)
    show.open()
    stage.looks_left = 10
    tell(stage, firing_id=5, t_s=60_000.0)
    show.follow(30_000.0)
    assert stage.asked_to_end


@pytest.mark.parametrize(("rank", "woke"), [(Rank.LOG, False), (Rank.LOOK, False), (Rank.WAKE, True)])
def test_only_a_wake_alert_counts_as_one(stage, rank, woke):
    stage.rank = rank
    show, _ = made(stage)
    assert show.woke() is woke
