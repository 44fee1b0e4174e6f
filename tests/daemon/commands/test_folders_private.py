"""What a service writes is for its own group at most, though it was started by hand with the usual umask."""

from __future__ import annotations

import os
import stat
import subprocess
import sys

import pytest

from daemon.commands.folders import keep_files_private


@pytest.mark.parametrize(("before", "after"), [(0o022, 0o640), (0o077, 0o600), (0o002, 0o640)])
def test_nobody_outside_the_group_may_read_and_a_stricter_owner_keeps_his_rule(tmp_path, before, after):
    usual = os.umask(before)
    try:
        keep_files_private()
        (tmp_path / "kept").write_text("x")
    finally:
        os.umask(usual)
    assert stat.S_IMODE((tmp_path / "kept").stat().st_mode) == after


@pytest.mark.slow
def test_the_record_that_a_daemon_makes_by_hand_is_not_for_everybody(tmp_path):
    data = tmp_path / "data"
    (tmp_path / "trace.csv").write_text("seconds,celsius,fault\n0,20,\n60,20,\n")
    tmp_path.joinpath("lehrling.toml").write_text(
        f'[probe]\nkind = "recorded"\ntrace = "{tmp_path / "trace.csv"}"\n')
    daemon = subprocess.Popen(
        [sys.executable, "-m", "daemon.cli", "daemon", "--data", str(data), "--run", str(tmp_path / "run"),
         "--config", str(tmp_path / "lehrling.toml")], stderr=subprocess.PIPE, text=True, umask=0o022)
    try:
        assert daemon.stderr is not None
        next(line for line in daemon.stderr if "Watching" in line)
    finally:
        daemon.terminate()
        daemon.communicate(timeout=60)
    found = {path.name: stat.S_IMODE(path.stat().st_mode) & 0o007 for path in (data, *data.iterdir())}
    assert "lehrling.db" in found
    assert not any(found.values()), found
