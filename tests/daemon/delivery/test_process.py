"""The whole delivery process, started, killed and started again against a real endpoint."""

import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
from datetime import UTC, datetime, timedelta

import pytest

from daemon.notify.other_messages import Letter
from daemon.store import outbox
from daemon.store.database import create_database, open_database
from daemon.store.write_queue import Journal

START = """
import argparse, sys
from daemon.commands.deliver import COMMAND
from daemon.errors import BadInput
parser = argparse.ArgumentParser()
COMMAND.configure(parser)
try:
    sys.exit(COMMAND.run(parser.parse_args()))
except BadInput as err:
    print(err.text, file=sys.stderr)
    sys.exit(2)
"""


@pytest.fixture
def start(tmp_path):
    """Return a function that starts ``lehrling deliver`` on the test's folder; all end with the test."""
    started = []

    def begin(*more):
        process = subprocess.Popen(
            [sys.executable, "-c", START, "--data", str(tmp_path), "--run", str(tmp_path), *more],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1", "JOURNAL_STREAM": "so lines have no time"})
        started.append(process)
        return process

    yield begin
    for process in started:
        process.kill()
        process.communicate(timeout=120)


@pytest.fixture
def settings(tmp_path, endpoint, write_key):
    write_key("phone", endpoint.url("?rto=20"))
    (tmp_path / "lehrling.toml").write_text('[[channel]]\nname = "phone"\nurl_file = "phone.url"\n')


def until(true, what):
    deadline = time.monotonic() + 120
    while not true():
        assert time.monotonic() < deadline, what
        time.sleep(0.02)


def end(process):
    process.send_signal(signal.SIGTERM)
    said, _ = process.communicate(timeout=120)
    return process.returncode, said


@pytest.mark.usefixtures("settings")
def test_a_message_written_while_it_runs_is_sent_and_marked(house, endpoint, start):
    process = start()
    number = house.write("WAKE: one", created=datetime.now(UTC))[0]
    until(lambda: house.deliveries().get(number), "sent and marked")
    code, said = end(process)
    assert code == 0
    assert "phone: message 1 sent" in said
    assert endpoint.got[0].body.splitlines() == [
        "WAKE: one, in full.", f"Message {number}; the same number again is the same message."]


@pytest.mark.usefixtures("settings")
def test_killed_after_the_server_took_it_and_before_the_mark_it_comes_again_with_its_number(
        house, endpoint, start):
    first, second = house.write("one") + house.write("two")
    endpoint.answers = ["hang"]  # the server has the message; the process never learns of it
    process = start()
    until(lambda: endpoint.got, "the server has the message")
    process.kill()
    process.wait(120)
    assert house.deliveries() == {}
    start()
    until(lambda: second in house.deliveries(), "both marked")
    numbers = [got.body.splitlines()[-1].split(";")[0] for got in endpoint.got]
    assert numbers == [f"Message {first}", f"Message {first}", f"Message {second}"]


@pytest.mark.usefixtures("settings")
def test_without_a_database_it_waits_with_one_plain_line(tmp_path, endpoint, start):
    process = start()
    line = process.stdout.readline()
    assert line.startswith(f"Waiting: {tmp_path / 'lehrling.db'}: no such database.")
    create_database(tmp_path / "lehrling.db").close()
    time.sleep(1.5)
    code, said = end(process)
    assert (code, said) == (0, "")


@pytest.mark.usefixtures("settings")
def test_once_sends_what_waits_and_ends(house, endpoint, start):
    house.write("one")
    house.write("two")
    process = start("--once")
    process.communicate(timeout=120)
    assert process.returncode == 0
    assert endpoint.titles() == ["one", "two"]


@pytest.mark.usefixtures("settings", "house")
def test_signs_of_life_are_given_while_it_runs_and_not_by_a_single_round(tmp_path, start, write_key):
    write_key("mqtt", "mqtt://127.0.0.1:9/kiln")  # where nobody listens
    with (tmp_path / "lehrling.toml").open("a") as settings:
        settings.write('[alive]\nmqtt_file = "mqtt.url"\n')
    process = start()
    bound = threading.Timer(120.0, process.kill)  # a line that never comes must not hold up the tests
    bound.start()
    line = process.stdout.readline()
    bound.cancel()
    assert line == "Sign of life, mqtt: no broker, or it does not answer\n"
    assert end(process)[0] == 0
    said, _ = start("--once").communicate(timeout=120)
    assert "Sign of life" not in said


@pytest.mark.usefixtures("settings")
def test_once_without_a_database_is_bad_input(tmp_path, start):
    process = start("--once")
    said, _ = process.communicate(timeout=120)
    assert process.returncode == 2
    assert said.startswith(f"{tmp_path / 'lehrling.db'}: no such database.")


@pytest.mark.usefixtures("settings")
def test_an_address_open_to_everyone_is_told_by_name_and_nothing_is_sent(house, endpoint, start, tmp_path):
    (tmp_path / "phone.url").chmod(0o644)
    number = house.write("one")[0]
    process = start("--once")
    said, _ = process.communicate(timeout=120)
    assert process.returncode == 1
    assert f"chmod 640 {tmp_path / 'phone.url'}" in said
    assert endpoint.got == []
    assert "phone.url" in house.deliveries()[number]["error"]
    assert str(endpoint.port) not in said + house.deliveries()[number]["error"]


@pytest.mark.usefixtures("settings")
def test_a_late_message_tells_its_age_and_how_the_kiln_stands_now(house, endpoint, start, tmp_path):
    now = datetime.now(UTC)
    (tmp_path / "present.json").write_text(json.dumps(
        {"written_utc": now.isoformat(), "sentence": "Falling freely to 516."}))
    house.write("one", created=now - timedelta(hours=2))
    start("--once").communicate(timeout=120)
    lines = endpoint.got[0].body.splitlines()
    assert lines[0].startswith("Late: written at ")
    assert re.search(r", 2 h 0\d min ago\.$", lines[0])  # two hours, and as long as the process took to start
    assert lines[1] == "Now: Falling freely to 516."


def test_messages_for_a_channel_that_is_gone_are_told(house, start, tmp_path):
    house.write("one", channels=("old",))
    said, _ = start("--once").communicate(timeout=120)
    assert '1 messages wait for "old"' in said
    assert "alerts stand on the page only" in said


@pytest.mark.parametrize("module", ["daemon.service.assembly", "daemon.commands.daemon", "daemon.commands.replay"])
def test_no_other_process_pays_for_the_libraries_that_send(module):
    code = f"import sys, {module}; sys.exit('apprise' in sys.modules or 'requests' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], timeout=60, check=False).returncode == 0


@pytest.mark.usefixtures("settings")
def test_a_record_that_was_deleted_and_written_anew_is_gone_on_with(tmp_path, endpoint, start):
    journal = Journal(lambda: create_database(tmp_path / "lehrling.db"))
    journal.open()

    def write(title):
        letter = Letter("phone", title, "It rings.", "test", "wake")
        journal.write([lambda db: outbox.post(db, [letter], datetime.now(UTC))])

    def is_marked():  # a message sent and not marked yet would come again, with its number, as it should
        db = open_database(tmp_path / "lehrling.db")
        fate = outbox.last_fate(db, "phone")
        db.close()
        return fate is not None and fate.sent_utc is not None

    process = start()
    write("one")
    until(is_marked, "the first is sent and marked")
    for file in tmp_path.glob("lehrling.db*"):
        file.unlink()
    write("two")
    until(lambda: endpoint.titles() == ["one", "two"], "the second is sent, and the first no second time")
    assert process.poll() is None
    journal.close()


@pytest.mark.usefixtures("settings")
def test_systemd_hears_that_it_is_up_and_waits_for_the_record_and_that_it_ends(start, systemd):
    process = start()
    assert [systemd.hears() for _ in range(3)] == ["READY=1", "WATCHDOG=1", "WATCHDOG=1"]
    assert end(process)[0] == 0
    assert systemd.hears_at_last("STOPPING=1")


@pytest.mark.usefixtures("settings")
def test_it_gives_signs_of_life_while_a_message_is_on_its_way(house, endpoint, start, systemd):
    house.write("one")
    endpoint.answers = ["hang"]
    start()
    until(lambda: endpoint.got, "the server has the message")
    systemd.forget()
    assert [systemd.hears() for _ in range(2)] == ["WATCHDOG=1", "WATCHDOG=1"]
    assert not house.deliveries()  # the attempt hangs still


@pytest.mark.usefixtures("settings", "house")
def test_a_round_that_hangs_gives_no_sign_of_life_until_it_goes_on(start, systemd, tmp_path, hanging):
    state = hanging(tmp_path / "present.json")  # each round looks at it
    start()
    state.until_read()
    assert systemd.hears_no_more()  # else there is a sign each second
    state.let_go()
    assert systemd.hears() == "WATCHDOG=1"


@pytest.mark.usefixtures("settings", "house")
def test_a_single_round_says_nothing_to_systemd(start, systemd):
    start("--once").communicate(timeout=30)
    assert systemd.hears(within_s=0.1) is None
