"""Settings asked of the daemon: kept or refused, used from a fresh start on, the kiln's name with its firings."""

from __future__ import annotations

import json
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from daemon.errors import BadInput
from daemon.service import ask_settings as asking
from daemon.service.ask_settings import ask_settings
from daemon.service.assembly import Folders, run_daemon
from daemon.service.settings_desk import SettingsDesk
from daemon.settings.config import Config, Probe, read_config
from daemon.settings.last_good import COPY_NAME, usable_settings
from daemon.store.stamps import stamp


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "lehrling.toml"
    path.write_text('[kiln]\nname = "Loft"  # upstairs\n', encoding="utf-8")
    return path


def test_a_change_is_kept_and_asks_for_a_fresh_start(file):
    desk = SettingsDesk(file, read_config(file))
    assert desk.take({"changes": {"owner.unit": "F"}}, firing_open=True) == []
    assert desk.changed
    assert read_config(file).unit == "F"


@pytest.mark.parametrize("key", ["kiln.name", "probe.mains_hz"])
def test_what_names_or_reads_the_kiln_waits_for_the_end_of_the_firing(file, key):
    desk = SettingsDesk(file, read_config(file))
    with pytest.raises(BadInput, match="while a firing is open"):
        desk.take({"changes": {key: "60"}}, firing_open=True)
    assert not desk.changed


def test_a_probe_that_is_missing_can_be_mended_under_an_open_firing(file):
    desk = SettingsDesk(file, read_config(file))
    desk.take({"changes": {"probe.bus": "/dev/spidev0.1"}}, firing_open=True, has_probe=False)
    assert read_config(file).probe.settings["bus"] == "/dev/spidev0.1"
    with pytest.raises(BadInput, match="while a firing is open"):
        desk.take({"changes": {"kiln.name": "Cellar"}}, firing_open=True, has_probe=False)


@pytest.mark.parametrize("payload", [{}, {"changes": []}, {"changes": {}}, {"changes": {"kiln.name": 7}}])
def test_what_is_no_table_of_settings_is_refused(file, payload):
    with pytest.raises(BadInput, match="no table of settings"):
        SettingsDesk(file, Config()).take(payload, firing_open=False)


def test_another_daemon_s_file_is_not_touched(file, tmp_path):
    other = tmp_path / "other" / "lehrling.toml"
    with pytest.raises(BadInput, match="is not the file of the daemon that runs"):
        SettingsDesk(file, Config()).take({"file": str(other), "changes": {"kiln.name": "x"}}, firing_open=False)


def test_without_a_daemon_the_file_is_changed_all_the_same(file, tmp_path):
    assert ask_settings(file, tmp_path, {"kiln.name": "Cellar"}) is False
    assert 'name = "Cellar"  # upstairs' in file.read_text(encoding="utf-8")


class Turned:
    """A clock that moves only where it is slept by, and a daemon that answers from second 3 on."""

    def __init__(self, run_dir, answers):
        self.s, self.run_dir, self.answers = 0.0, run_dir, answers
        self.wall = datetime(2026, 11, 29, 12, 0, tzinfo=UTC)

    def now_s(self):
        return self.s

    def utc(self):
        return self.wall + timedelta(seconds=self.s)

    def sleep_until(self, deadline_s):
        self.s = deadline_s

    def call(self, path, kind, payload):
        return "done" if self.answers and self.s >= 3.0 else None


@pytest.mark.parametrize("answers", [True, False])
def test_a_daemon_that_starts_afresh_is_waited_for_and_one_that_is_gone_is_not_for_long(
        file, tmp_path, monkeypatch, answers):
    clock = Turned(tmp_path, answers)
    (tmp_path / "present.json").write_text(json.dumps({"written_utc": stamp(clock.wall)}))
    monkeypatch.setattr(asking, "call", clock.call)
    assert ask_settings(file, tmp_path, {"kiln.name": "Cellar"}, clock) is answers
    assert clock.s == (3.0 if answers else pytest.approx(15.0, abs=0.5))
    assert ("Cellar" in file.read_text(encoding="utf-8")) is not answers


def test_a_running_daemon_takes_the_change_renames_its_kiln_and_asks_to_be_started_afresh(file, tmp_path):
    config = Config(kiln_name="Loft", probe=Probe("bench"), file=file)
    outcome: list[object] = []
    stopped = threading.Event()
    watch = threading.Thread(target=lambda: outcome.append(
        run_daemon(config, Folders(tmp_path, tmp_path), 1000.0, stopped.is_set)))
    watch.start()
    try:
        for _ in range(1200):
            if (tmp_path / "present.json").exists() or not watch.is_alive():
                break
            threading.Event().wait(0.05)
        with pytest.raises(BadInput, match="'K' is unknown"):
            ask_settings(file, tmp_path, {"owner.unit": "K"})
        assert ask_settings(file, tmp_path, {"owner.unit": "F", "channel.phone.address": "json://127.0.0.1:9/hush"})
    finally:
        watch.join(60)
        stopped.set()
        watch.join(60)
    assert outcome == [True]
    assert read_config(file).channels[0].name == "phone"
    # An address is a secret: it is in its file, and nowhere in the record.
    assert b"hush" not in Path(tmp_path / "lehrling.db").read_bytes()
    assert "hush" not in file.read_text(encoding="utf-8")


def test_the_log_names_a_file_that_cannot_be_used_and_why_in_one_line(file, tmp_path, caplog):
    good = '[probe]\nkind = "bench"\n'
    (tmp_path / COPY_NAME).write_text(good, encoding="utf-8")
    file.write_text(f'{good}[owner]\nunit = "K"\n', encoding="utf-8")
    run_daemon(usable_settings(file, tmp_path), Folders(tmp_path, tmp_path), 1.0, lambda: True)
    (told,) = [record.getMessage() for record in caplog.records if record.levelname == "ERROR"]
    assert f"{file}: these settings can't be used: [owner] unit: 'K' is unknown." in told
    assert "\n" not in told


def test_a_bench_whose_lines_are_wrong_leaves_the_daemon_up_as_a_real_probe_does(file, tmp_path, caplog):
    file.write_text('[probe]\nkind = "bench"\nthermocouple_type = "Q"\n', encoding="utf-8")
    run_daemon(usable_settings(file, tmp_path), Folders(tmp_path, tmp_path), 1.0, lambda: True)
    assert "The probe can't be opened: [probe] thermocouple_type: 'Q' is unknown." in caplog.text


def test_a_kiln_keeps_its_firings_under_a_new_name(file, tmp_path, empty_database):
    from daemon.store import kilns
    from daemon.store.database import open_database

    (tmp_path / "lehrling.db").write_bytes(empty_database)
    db = open_database(tmp_path / "lehrling.db")
    number = kilns.kiln_id(db, "Loft")
    [op] = SettingsDesk(file, read_config(file)).take({"changes": {"kiln.name": "Cellar"}}, firing_open=False)
    op(db)
    assert kilns.kilns(db) == {number: "Cellar"}
    kilns.kiln_id(db, "Shed")
    kilns.rename(db, "Shed", "Cellar")  # a name that is taken changes nothing
    assert sorted(kilns.kilns(db).values()) == ["Cellar", "Shed"]
    db.close()
