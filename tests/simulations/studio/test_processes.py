"""Processes are started with their logs and gone at the end."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from simulations.studio.processes import Processes


def wait_for(condition, tries: int = 1200) -> bool:
    import time

    for _ in range(tries):
        if condition():
            return True
        time.sleep(0.05)
    return False


def is_alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text(encoding="ascii").split(")")[1].split()[0] != "Z"
    except OSError:
        return False


def test_one_that_ends_by_itself_is_noticed_with_its_last_words(tmp_path):
    with Processes(tmp_path) as processes:
        processes.start("replay", ["replay", "no-such-trace.csv"])
        assert wait_for(lambda: processes.died() == "replay")
        assert "no-such-trace.csv" in processes.last_lines("replay")


def test_all_are_gone_at_the_end_whatever_happened(tmp_path):
    (tmp_path / "lehrling.toml").write_text('[probe]\nkind = "bench"\n', encoding="utf-8")
    pids = []

    def run() -> None:
        with Processes(tmp_path) as processes:
            processes.start("daemon", ["daemon", "--data", str(tmp_path), "--run", str(tmp_path)])
            pids.append(processes._children["daemon"].pid)
            assert wait_for(lambda: (tmp_path / "lehrling.db").exists())
            assert is_alive(pids[0])
            assert os.getsid(pids[0]) != os.getsid(0), "deaf to the terminal's Ctrl-C"
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run()
    assert not is_alive(pids[0])


def test_a_process_that_asks_for_it_ends_with_a_parent_that_was_killed():
    child = ("import time; from simulations.studio.processes import end_with_parent; end_with_parent();"
             "print('ready', flush=True); time.sleep(60)")
    work = f"child = subprocess.Popen([sys.executable, '-c', {child!r}])"
    parent = subprocess.Popen(
        [sys.executable, "-c", "import subprocess, sys, time\n"
         f"{work}\nprint(child.pid, flush=True)\ntime.sleep(60)"],
        stdout=subprocess.PIPE, text=True)
    pid = int(parent.stdout.readline())
    assert parent.stdout.readline() == "ready\n"
    parent.kill()
    parent.communicate()
    assert wait_for(lambda: not is_alive(pid))
