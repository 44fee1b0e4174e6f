from __future__ import annotations

import os
import socket

import pytest

from daemon.service.watchdog import STUCK_EXIT, STUCK_S, Heartbeat, childs_environment, notify, watchdog_s


@pytest.mark.parametrize("abstract", [False, True])
def test_systemd_is_told_at_its_address(tmp_path, abstract, monkeypatch):
    name = f"\0lehrling-test-{tmp_path.name}" if abstract else str(tmp_path / "notify")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as systemd:
        systemd.settimeout(5)
        systemd.bind(name)
        monkeypatch.setenv("NOTIFY_SOCKET", "@" + name[1:] if abstract else name)
        notify("READY=1")
        assert systemd.recv(64) == b"READY=1"


def test_without_systemd_nothing_happens(monkeypatch, tmp_path, caplog):
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    notify("READY=1")
    notify("READY=1", str(tmp_path / "nobody"))
    assert "can't be told" in caplog.text


@pytest.mark.parametrize(("usec", "meant_for", "expected_s"), [
    ("60000000", "me", 60.0), ("500000", None, 0.5), ("60000000", "1", None), ("60000000", "nobody", None),
    ("0", "me", None), ("soon", None, None), (None, None, None),
])
def test_systemd_says_after_how_long_a_silence_it_ends_a_process(monkeypatch, usec, meant_for, expected_s):
    pid = str(os.getpid()) if meant_for == "me" else meant_for
    for name, text in (("WATCHDOG_USEC", usec), ("WATCHDOG_PID", pid)):
        if text is None:
            monkeypatch.delenv(name, raising=False)
        else:
            monkeypatch.setenv(name, text)
    assert watchdog_s() == expected_s


@pytest.mark.usefixtures("systemd")
def test_a_child_cannot_speak_to_systemd_in_its_parents_name(monkeypatch):
    monkeypatch.setenv("WATCHDOG_PID", "1")
    monkeypatch.setenv("PATH", "/usr/bin")
    left = childs_environment()
    assert left["PATH"] == "/usr/bin"
    assert not {"NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"} & set(left)


def test_a_hung_tick_ends_the_process_and_a_living_one_does_not(monkeypatch):
    codes, looks = [], []
    heart = Heartbeat(codes.append)

    def until_the_next_look(seconds):
        assert codes == []
        looks.append(seconds)
        if len(looks) <= 60:
            heart.beat()  # the tick hangs from the 60th look on
        return len(looks) > 200

    monkeypatch.setattr(heart._end, "wait", until_the_next_look)
    heart.start()
    heart._thread.join(60)
    assert codes == [STUCK_EXIT]
    assert sum(looks[60:]) == STUCK_S
