"""``lehrling daemon`` as a process: starts, refuses, ends, and is killed."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import pytest

from daemon.settings.last_good import COPY_NAME
from daemon.store.database import create_database

ROOT = Path(__file__).parents[3]
RUN = [sys.executable, "-m", "daemon.cli", "daemon"]


@pytest.fixture
def studio(tmp_path):
    """Return a data folder whose probe plays a kiln at 514 °C, for hours."""
    (tmp_path / "trace.csv").write_text(
        "seconds,celsius,fault\n" + "".join(f"{t},514.25,\n" for t in range(0, 36_000, 60)))
    data = tmp_path / "data"
    data.mkdir()
    (data / "lehrling.toml").write_text(
        f'[kiln]\nname = "Back room kiln"\n[probe]\nkind = "recorded"\ntrace = "{tmp_path / "trace.csv"}"\n'
        'loop = true\n')
    return tmp_path


def _options(studio, *more):
    return [*RUN, "--data", str(studio / "data"), "--run", str(studio / "run"), *more]


@contextmanager
def _running(studio, *more, env=None):
    daemon = subprocess.Popen(_options(studio, *more), stderr=subprocess.PIPE, text=True, cwd=ROOT, env=env)
    try:
        yield daemon
    finally:
        daemon.kill()
        daemon.communicate()


def _within(seconds, seen):
    """Return what ``seen`` returns once that is something; fail after so many seconds."""
    for _ in range(int(seconds / 0.05)):
        found = seen()
        if found:
            return found
        time.sleep(0.05)
    pytest.fail("it was not seen in time")


def _present(studio):
    try:
        return json.loads((studio / "run" / "present.json").read_text())
    except FileNotFoundError:
        return None


def _refused(*command):
    done = subprocess.run([*RUN, *map(str, command)], capture_output=True, text=True, timeout=60, cwd=ROOT)
    assert done.returncode == 2, done.stderr
    assert "Traceback" not in done.stderr
    return done.stderr


def test_it_tells_the_present_and_ends_cleanly_when_asked(studio):
    with _running(studio, "--speed", "20") as daemon:
        present = _within(120, lambda: _present(studio))
        assert (present["kiln"], present["temp_c"], present["speed"]) == ("Back room kiln", 514.25, 20.0)
        with socket.socket(socket.AF_UNIX) as caller:
            caller.settimeout(60)
            caller.connect(str(studio / "run" / "lehrling.sock"))
            caller.sendall(b'{"kind": "present"}\n')
            assert json.loads(caller.makefile().readline())["temp_c"] == 514.25
        daemon.send_signal(signal.SIGTERM)
        _, log = daemon.communicate(timeout=120)
    assert daemon.returncode == 0
    assert log.splitlines()[-1].endswith("Ended as asked; an open firing goes on at the next start.")
    assert not (studio / "run" / "lehrling.sock").exists()


def test_systemd_hears_when_it_is_ready_alive_and_ending(studio):
    address = str(studio / "notify")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as systemd:
        systemd.bind(address)
        systemd.settimeout(60)
        with _running(studio, "--speed", "20", env={**os.environ, "NOTIFY_SOCKET": address}) as daemon:
            assert [systemd.recv(64) for _ in range(2)] == [b"READY=1", b"WATCHDOG=1"]
            daemon.send_signal(signal.SIGTERM)
            daemon.wait(timeout=120)
            words = {systemd.recv(64)}
            while b"STOPPING=1" not in words:
                words.add(systemd.recv(64))


def test_a_second_daemon_on_the_same_folder_is_refused(studio):
    with _running(studio, "--speed", "20"):
        _within(120, lambda: _present(studio))
        told = _refused("--data", studio / "data", "--run", studio / "run2")
    assert told == (f"lehrling: {studio / 'data'}: another Lehrling daemon works in this data folder."
                    " End that one first, or name another folder with --data.\n")


@pytest.mark.parametrize(("text", "told"), [
    ('[probe]\nkind = "recorded"', "[probe] trace: missing."),
    ('[probe]\nkind = "recorded"\ntrace = "none.csv"', "none.csv"),
    ('[probe]\nkind = "bench"\nkiln = "volcano"', "volcano"),
])
def test_settings_that_cannot_be_used_are_told_and_nothing_starts(tmp_path, text, told):
    (tmp_path / "lehrling.toml").write_text(text)
    assert told in _refused("--data", tmp_path, "--run", tmp_path / "run")


def test_a_damaged_record_and_a_dead_sounder_leave_nobody_unwatched(studio):
    (studio / "data" / "lehrling.db").write_bytes(b"\xff\xfe no record" * 500)
    with (studio / "data" / "lehrling.toml").open("a") as settings:
        settings.write('[sounder]\nkind = "gong"\n')
    with _running(studio, "--speed", "20"):
        present = _within(120, lambda: _present(studio))
    told = {one["ailing"]: one["text"] for one in present["trouble"]}
    assert present["temp_c"] == 514.25
    assert "There was no good copy, so a new record was begun." in told["record"]
    assert "'gong' is not installed" in told["sounder"]
    assert list((studio / "data").glob("lehrling-damaged-*.db"))


@pytest.mark.parametrize(("options", "told"), [
    (["--speed", "0"], "--speed: 0 is outside 1 to 100000."),
    (["--speed", "nan"], "--speed: nan is outside"),
    (["--speed", "300"], "--speed: 300: a real kiln can't be sped up. Leave it out, or use --bench."),
    (["--bench-seed", "3"], "there is no bench. Add --bench."),
    (["--config", "nowhere.toml"], "nowhere.toml: there is no such file."),
    (["--bench", "--bench-plan", "nowhere.toml"], "nowhere.toml"),
    (["--bench", "--bench-fault", "meteor@1h"], "meteor"),
])
def test_options_that_cannot_be_used_are_told(tmp_path, options, told):
    assert told in _refused("--data", tmp_path / "data", "--run", tmp_path / "run", *options)


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").touch()
    told = _refused("--bench", "--data", tmp_path / "file" / "data", "--run", tmp_path / "run")
    assert "this folder can't be used: Not a directory." in told


def test_a_record_of_a_newer_program_is_refused(tmp_path):
    db = create_database(tmp_path / "lehrling.db")
    db.execute("INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('lehrling', 'm999', '')")
    db.close()
    assert "was written by a newer Lehrling" in _refused("--bench", "--data", tmp_path, "--run", tmp_path)


def test_without_its_chip_it_stays_and_says_that_nothing_is_watched(tmp_path):
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "lehrling.toml").write_text('[probe]\nbus = "/dev/none"\n')
    with _running(tmp_path):
        present = _within(120, lambda: _present(tmp_path))
    assert (present["temp_c"], present["fault"]) == (None, "silent")
    assert present["sentence"] == "Nothing is watched. Read the kiln's own display."
    (told,) = present["trouble"]
    assert told["ailing"] == "probe"
    assert told["text"].startswith("There is no probe, so the kiln is not watched. ")
    assert not (tmp_path / "data" / COPY_NAME).exists()  # these settings are not known to work


def test_five_kills_lose_nothing():
    done = subprocess.run([sys.executable, "-m", "benchmarks.kill_loop", "--kills", "5", "--seed", "11"],
                          capture_output=True, text=True, timeout=120, cwd=ROOT)
    figures = json.loads(done.stdout)
    assert (done.returncode, figures["problems"], figures["integrity"]) == (0, [], ["ok"]), done.stdout
    assert figures["readings"] > 20
    assert figures["firings"] == 1
