"""``lehrling demo`` from outside, as a maker runs it."""

from __future__ import annotations

import json
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return trial.getsockname()[1]


def demo(*options: str, **how) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "daemon.cli", "demo", *options], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        text=True, **how,
    )


def present(folder: Path) -> dict:
    try:
        return json.loads((folder / "run" / "present.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}


def test_it_runs_a_firing_serves_the_page_and_goes_without_a_trace(tmp_path):
    folder, port = tmp_path / "demo", free_port()
    running = demo("--data", str(folder), "--port", str(port), "--speed", "2000")
    try:
        for _ in range(3000):  # as long as a slow or busy machine may take to open the firing
            if (present(folder).get("t_s") or 0) > 3600:
                break
            assert running.poll() is None, running.communicate()
            time.sleep(0.1)
        state = present(folder)
        assert state["temp_c"] > 60
        assert state["firing_title"] == "Lamp shade panel, full fuse"
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/firings", timeout=60) as page:
            text = page.read().decode()
        assert "Rain tiles, full fuse" in text
        assert "invented" in text
    finally:
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=120)
    assert running.returncode == 0, err
    assert f"http://127.0.0.1:{port}/" in out
    assert str(folder) in out
    assert "Traceback" not in out + err
    with socket.socket() as trial:
        assert trial.connect_ex(("127.0.0.1", port)) != 0, "the page has gone"


@pytest.mark.parametrize(("options", "told"), [
    (["--port", "many"], "--port"), (["--speed", "0"], "--speed"), (["--seed", "-1"], "--seed"),
    (["--fault", "gremlin@2h"], "gremlin"), (["--kiln", "toaster"], "toaster"), 
    (["--tell", "no-such-file"], "no-such"),
])
def test_bad_options_are_named_and_nothing_is_made(tmp_path, options, told):
    running = demo("--data", str(tmp_path / "demo"), *options)
    out, err = running.communicate(timeout=120)
    assert running.returncode == 2
    assert told in err
    assert "Traceback" not in err
    assert out == ""
    assert not (tmp_path / "demo").exists()


def test_a_taken_port_is_named_with_the_remedy(tmp_path):
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]
        running = demo("--data", str(tmp_path / "demo"), "--port", str(port))
        _, err = running.communicate(timeout=120)
    assert running.returncode == 2
    assert f"--port {port}" in err
    assert "--port 8081" in err
