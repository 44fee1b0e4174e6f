"""A demonstration waits for its firing, follows it, and knows when it is over."""

from __future__ import annotations

import json
import socket
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import pytest

from daemon.errors import BadInput
from daemon.firing.events import Alert, Rank, Text
from simulations.studio.demo import Demonstration
from simulations.studio.demo_folder import DemoOptions


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
class FakeProcesses:
    folder: Path
    gone: str | None = None
    started: list[list[str]] = field(default_factory=list)

    def start(self, name: str, arguments: list[str]) -> None:
        self.started.append(arguments)

    def died(self) -> str | None:
        return self.gone

    def log(self, name: str) -> Path:
        return self.folder / f"{name}.log"

    def last_lines(self, name: str) -> str:
        return "lehrling: no luck"


@dataclass
class FakeFolder:
    options: DemoOptions
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
def demo_folder(tmp_path) -> FakeFolder:
    (tmp_path / "run").mkdir()
    return FakeFolder(DemoOptions(tmp_path, "top-loader", (), 7))


def made(demo_folder: FakeFolder, status=None) -> tuple[Demonstration, FakeProcesses]:
    processes = FakeProcesses(demo_folder.options.folder)
    return Demonstration(demo_folder, processes, status or Shown(), Clock()), processes


def tell(demo_folder: FakeFolder, **present) -> None:
    (demo_folder.options.run_dir / "present.json").write_text(json.dumps(present), encoding="utf-8")


def test_daemon_and_page_are_started_and_delivery_only_where_wished(demo_folder, tmp_path):
    show, processes = made(demo_folder)
    show.start(("127.0.0.1", 8080), 300.0)
    assert [arguments[0] for arguments in processes.started] == ["daemon", "web"]
    assert processes.started[0][-2:] == ["--speed", "300"]
    demo_folder.options = DemoOptions(tmp_path, "top-loader", (), 7, tmp_path / "url")
    show.start(("127.0.0.1", 8080), 300.0)
    assert processes.started[-1][0] == "deliver"


def test_a_rehearsal_has_no_page_and_no_delivery_of_its_own(demo_folder, tmp_path):
    demo_folder.options = DemoOptions(tmp_path, "top-loader", (), 7, tmp_path / "url", rehearsal=True)
    show, processes = made(demo_folder)
    show.start(None, 40.0)
    assert [arguments[0] for arguments in processes.started] == ["daemon"]


@pytest.mark.parametrize(("host", "told"), [
    ("127.0.0.1", "Page: http://127.0.0.1:8080/"), ("192.0.2.7", "whoever can reach it may press its buttons"),
    ("0.0.0.0", "from every device in your network, without a passcode"),
])
def test_what_opening_the_demonstration_means_is_said(host, told):
    from simulations.commands.demo import page_at

    said = page_at(host, 8080)
    assert told in said
    assert ("without a passcode" in said) == (host != "127.0.0.1")


def test_the_page_is_told_of_once_it_answers(demo_folder):
    show, processes = made(demo_folder)
    with socket.create_server(("127.0.0.1", 0)) as page:
        port = page.getsockname()[1]
        show.wait_for_page("0.0.0.0", port)
        line, (address, _) = page.accept()
        line.close()
    assert address == "127.0.0.1"
    with pytest.raises(BadInput, match="the page does not answer after 60 s"):
        show.wait_for_page("127.0.0.1", port)
    processes.gone = "web"
    with pytest.raises(BadInput, match="no luck"):
        show.wait_for_page("127.0.0.1", port)


def test_it_waits_for_the_firing_to_be_opened(demo_folder):
    show, _ = made(demo_folder)
    show.open()
    assert show.firing_id == 5


def test_a_refused_start_is_told(demo_folder):
    demo_folder.outcomes = ["refused: no such plan"]
    show, _ = made(demo_folder)
    with pytest.raises(BadInput, match="no such plan"):
        show.open()


def test_a_daemon_that_opens_nothing_is_told_with_its_log(demo_folder):
    demo_folder.outcomes = []
    show, _ = made(demo_folder)
    with pytest.raises(BadInput, match=r"daemon\.log"):
        show.open()


def test_a_process_that_died_is_told_with_its_last_words(demo_folder):
    show, processes = made(demo_folder)
    processes.gone = "web"
    with pytest.raises(BadInput, match="no luck"):
        show.open()


def test_it_follows_to_the_end_and_shows_only_its_own_firing(demo_folder):
    shown = Shown()
    show, _ = made(demo_folder, shown)
    show.open()
    tell(demo_folder, firing_id=4, t_s=99.0)
    demo_folder.looks_left = 1
    show.follow(1000.0)
    assert shown.times == []
    tell(demo_folder, firing_id=5, t_s=200.0)
    demo_folder.looks_left = 2
    show.follow(1000.0)
    assert shown.times == [200.0, 200.0]


def test_half_a_state_file_is_no_obstacle(demo_folder):
    show, _ = made(demo_folder)
    show.open()
    (demo_folder.options.run_dir / "present.json").write_text('{"firing_id": 5, "t', encoding="utf-8")
    show.follow(1000.0)


def test_a_firing_that_never_ends_is_ended_by_hand(demo_folder):
    show, _ = made(demo_folder)
    show.open()
    demo_folder.looks_left = 10
    tell(demo_folder, firing_id=5, t_s=60_000.0)
    show.follow(30_000.0)
    assert demo_folder.asked_to_end


@pytest.mark.parametrize(("rank", "woke"), [(Rank.LOG, False), (Rank.LOOK, False), (Rank.WAKE, True)])
def test_only_a_wake_alert_counts_as_one(demo_folder, rank, woke):
    demo_folder.rank = rank
    show, _ = made(demo_folder)
    assert show.woke() is woke
