"""State, availability and alert steps at a real broker on loopback: restarted, away, refusing."""

import json
import logging
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from daemon.delivery.process import _publishers
from daemon.delivery.publishing import connection, publisher
from daemon.delivery.publishing.mark import FILE_NAME, read_mark
from daemon.service.state_file import write
from daemon.settings.config import Config

SCHEMA = json.loads((Path(__file__).parents[4] / "docs" / "mqtt-state-schema.json").read_text(encoding="utf-8"))
STATE = Draft202012Validator(SCHEMA, format_checker=Draft202012Validator.FORMAT_CHECKER)
EVENT = Draft202012Validator(SCHEMA["$defs"]["event"], format_checker=Draft202012Validator.FORMAT_CHECKER)
BASE = "lehrling/kueche-2"


def state_of(broker):
    state = json.loads(broker.word(f"{BASE}/state"))
    STATE.validate(state)
    return state


def test_it_is_off_unless_a_broker_is_named(tmp_path, clock):
    assert _publishers(Config(), tmp_path, tmp_path, clock) == []


@pytest.mark.usefixtures("house")
def test_the_state_is_retained_and_holds_to_the_schema(broker, make_publisher, daemon_says, alert):
    daemon_says(alerts=[alert])
    make_publisher(broker).look()
    state = state_of(broker)
    assert (state["kiln"], state["temperature_c"], state["get_up"]) == ("Küche 2", 516.0, True)
    assert state["opens_at_utc"] == "2026-11-25T10:10:00.000Z"  # begun at 00:10; 36,000 s are 10 h
    assert broker.word(f"{BASE}/availability") == b"online"
    expiry = broker.subscribe("-t", f"{BASE}/state", "-C", "1", "-W", "20", "-F", "%r %q %E", "-q", "2")
    retained, quality, lasts_s = expiry.split()
    assert (retained, quality) == (b"1", b"1")
    assert 150 < int(lasts_s) <= 180


@pytest.mark.usefixtures("house")
def test_of_a_daemon_that_is_silent_nothing_is_told(broker, make_publisher, daemon_says, clock):
    daemon_says()
    one = make_publisher(broker)
    one.look()
    clock.passed_s += 20
    one.look()
    state = state_of(broker)
    assert not state["watching"]
    assert {key for key, value in state.items() if value is not None} == {"kiln", "watching", "written_utc"}
    assert broker.word(f"{BASE}/availability") == b"offline"
    daemon_says()
    one.look()
    assert broker.word(f"{BASE}/availability") == b"online"


@pytest.mark.usefixtures("house")
def test_figures_wait_ten_seconds_news_of_an_alert_does_not_and_a_minute_is_the_longest(
        broker, make_publisher, daemon_says, clock, listen, alert):
    listener, one = listen(broker), make_publisher(broker)
    published = []
    for second in range(200):
        clock.passed_s = float(second)
        hot = {"temp_c": 500.0 + second} if second < 40 else {}
        daemon_says(**hot, alerts=[alert] if second >= 25 else [])
        one.look()
    for topic, payload in listener.fetch("-W", "1"):
        if topic == f"{BASE}/state":
            published.append(json.loads(payload)["written_utc"][14:19])
    #                    at 0    10       20       with the alert, 10 after it, 40's end, a minute each
    assert published == ["10:00", "10:10", "10:20", "10:25", "10:35", "10:45", "11:45", "12:45"]


def test_steps_of_alerts_come_in_order_over_a_restart_of_the_broker(
        house, lasting_broker, make_publisher, daemon_says, clock, listen):
    daemon_says()
    house.write("from before")
    listener, one = listen(lasting_broker), make_publisher(lasting_broker)
    one.look()
    for number in range(3):
        house.write(f"before {number}", alert_no=number + 1)
    one.look()
    lasting_broker.end()
    for number in range(3):
        house.write(f"away {number}", change="over", alert_no=number + 1)
        clock.passed_s += 1
        one.look()
    assert "lost" in one.trouble or "refused" in one.trouble
    lasting_broker.start()
    house.write("after", alert_no=4)
    clock.passed_s += 60
    one.look()
    events = listener.events(7)
    for event in events:
        EVENT.validate(event)
    assert [event["what"] for event in events] == [
        "before 0", "before 1", "before 2", "away 0", "away 1", "away 2", "after"]
    assert [event["change"] for event in events] == ["woke"] * 3 + ["over"] * 3 + ["woke"]
    numbers = [event["number"] for event in events]
    assert numbers == list(range(numbers[0], numbers[0] + 7))


def test_an_outage_of_an_hour_loses_no_step_and_asks_about_once_a_minute(
        house, lasting_broker, make_publisher, daemon_says, clock, listen, monkeypatch):
    listener, one = listen(lasting_broker), make_publisher(lasting_broker)
    daemon_says()
    one.look()
    lasting_broker.end()
    tries, really_open = [], publisher.open_line

    def open_line(*arguments):
        tries.append(clock.passed_s)
        return really_open(*arguments)

    monkeypatch.setattr(publisher, "open_line", open_line)
    written = []
    for second in range(1, 3600, 5):
        clock.passed_s = float(second)
        if second % 300 == 1:
            house.write(f"{second} s", alert_no=second, created=clock.utc())
            written.append((f"{second} s", clock.utc()))
        one.look()
    assert 55 <= len(tries) <= 75
    lasting_broker.start()
    clock.passed_s = 3700.0
    one.look()
    events = listener.events(12)
    assert [event["what"] for event in events] == [what for what, _ in written]
    assert [event["at_utc"] for event in events] == [f"{at:%Y-%m-%dT%H:%M:%S}.000Z" for _, at in written]
    assert written[-1][1] - written[0][1] == timedelta(minutes=55)


def test_a_step_that_could_not_be_marked_comes_again_with_its_number(
        house, lasting_broker, make_publisher, daemon_says, listen, tmp_path):
    daemon_says()
    listener, one = listen(lasting_broker), make_publisher(lasting_broker)
    one.look()
    before = (tmp_path / FILE_NAME).read_bytes()
    house.write("one")
    one.look()
    one.close()
    (tmp_path / FILE_NAME).write_bytes(before)  # as after a power cut in the wrong moment
    house.write("two", alert_no=2)
    make_publisher(lasting_broker).look()
    events = listener.events(3)
    assert [event["what"] for event in events] == ["one", "one", "two"]
    assert events[0] == events[1]


def test_what_is_past_at_the_very_first_start_calls_nobody_and_what_waits_goes_on_after_a_restart(
        house, lasting_broker, make_publisher, daemon_says, listen):
    daemon_says()
    house.write("long past")
    listener = listen(lasting_broker)
    lasting_broker.end()
    one = make_publisher(lasting_broker)
    one.look()
    house.write("while the broker was away", alert_no=2)
    one.close()
    lasting_broker.start()
    make_publisher(lasting_broker).look()
    assert [event["what"] for event in listener.events(1)] == ["while the broker was away"]


def test_a_record_from_an_older_copy_publishes_only_what_is_later(house, broker, make_publisher, daemon_says, listen,
                                                                 tmp_path, clock):
    daemon_says()
    listener, one = listen(broker), make_publisher(broker)
    house.write("kept")
    mark = read_mark(tmp_path / FILE_NAME)
    (tmp_path / FILE_NAME).write_text(json.dumps({
        "house_id": mark.house_id, "number": 900, "wall_utc": "2026-11-25T02:20:00.000Z", "retained": []}))
    one = make_publisher(broker)
    one.look()
    clock.passed_s = 1200
    daemon_says()
    house.write("later", alert_no=2, created=clock.utc())
    one.look()
    assert [event["what"] for event in listener.events(1)] == ["later"]


PROGRAM = """
import sys
from daemon.delivery.publishing import connection
connection.WILL_DELAY_S = int(sys.argv[1])
from daemon.commands.deliver import COMMAND
import argparse
parser = argparse.ArgumentParser()
COMMAND.configure(parser)
sys.exit(COMMAND.run(parser.parse_args(sys.argv[2:])))
"""


@pytest.fixture
def deliver(tmp_path):
    """Return a function that starts ``lehrling deliver`` on the test's folder with a delay of the will [s]."""
    started = []

    def begin(delay_s):
        process = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(delay_s), "--data", str(tmp_path), "--run", str(tmp_path)],
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"})
        started.append(process)
        return process

    yield begin
    for process in started:
        process.kill()
        process.communicate(timeout=60)


def until(broker, topic, word):
    """Wait until the word stands under the topic."""
    for _ in range(100):
        if broker.word(topic, 1) == word:
            return
        time.sleep(0.05)
    pytest.fail(f"{word!r} never stood under {topic}")


@pytest.fixture
def present_state(tmp_path):
    """Keep the state file the present one by the real clock, however slow the computer is."""
    over = threading.Event()

    def keep():
        while not over.wait(0.5):
            write(tmp_path, json.dumps({"written_utc": datetime.now(UTC).isoformat(), "temp_c": 20.0}))

    thread = threading.Thread(target=keep)
    thread.start()
    yield
    over.set()
    thread.join(30)


@pytest.fixture
def broker_in_settings(broker, tmp_path):
    (tmp_path / "lehrling.toml").write_text(
        f'[kiln]\nname = "Küche 2"\n[mqtt]\nhost = "127.0.0.1"\nport = {broker.port}\ntopic = "{BASE}"\n')
    return broker


@pytest.mark.slow
@pytest.mark.usefixtures("house", "present_state")
def test_a_killed_process_leaves_its_last_will(broker_in_settings, deliver):
    process = deliver(1)
    until(broker_in_settings, f"{BASE}/availability", b"online")
    process.send_signal(signal.SIGKILL)
    process.wait(30)
    until(broker_in_settings, f"{BASE}/availability", b"offline")


@pytest.mark.slow
@pytest.mark.usefixtures("house", "present_state")
def test_a_process_that_is_back_within_the_delay_was_never_offline(broker_in_settings, deliver, listen):
    process = deliver(300)
    until(broker_in_settings, f"{BASE}/availability", b"online")
    listener = listen(broker_in_settings)
    listener.fetch("-W", "1")
    process.send_signal(signal.SIGTERM)
    process.wait(60)
    deliver(300)
    for _ in range(60):
        said = [payload for topic, payload in listener.fetch("-W", "1") if topic == f"{BASE}/availability"]
        if said:
            break
    assert said == ["online"]


def logged(caplog, secret):
    assert secret not in caplog.text
    assert all(record.levelno >= logging.INFO for record in caplog.records)
    return caplog.messages


@pytest.fixture
def locked_broker(make_broker, tmp_path):
    """Return a broker that wants a login, and lets the user publish states only."""
    users, rights = tmp_path / "users", tmp_path / "rights"
    users.touch(mode=0o600)
    tool = shutil.which("mosquitto_passwd", path=f"{os.environ.get('PATH', '')}:/usr/sbin")
    if tool is None:
        pytest.skip("mosquitto_passwd is not installed")
    subprocess.run([tool, "-b", str(users), "kiln", "ge:heim"], check=True, capture_output=True, timeout=30)
    rights.write_text(f"user kiln\ntopic readwrite {BASE}/state\ntopic write {BASE}/availability\n")
    return make_broker("allow_anonymous false",
                       f"persistence false\npassword_file {users}\nacl_file {rights}\nuser root")


def test_a_login_is_read_from_its_file_and_a_refused_topic_is_named_and_kept(
        house, locked_broker, make_publisher, daemon_says, write_key, tmp_path, clock, caplog):
    daemon_says()
    one = make_publisher(locked_broker, login_file=write_key("login", "kiln:ge:heim"))
    one.look()
    assert one.trouble == ""
    number = read_mark(tmp_path / FILE_NAME).number
    house.write("not taken")
    one.look()
    assert one.trouble == f"the broker refused: Not authorized, for {BASE}/event"
    assert read_mark(tmp_path / FILE_NAME).number == number
    for second in range(1, 61):
        clock.passed_s = float(second)
        daemon_says(temp_c=500.0 + second)
        one.look()  # the state goes on, and what was refused is tried seldom
    said = locked_broker.subscribe("-u", "kiln", "-P", "ge:heim", "-t", f"{BASE}/state", "-C", "1", "-W", "20")
    assert json.loads(said)["temperature_c"] == 560.0
    assert logged(caplog, "ge:heim") == [f"mqtt: {one.trouble}"]
    (tmp_path / "rights").write_text(f"user kiln\ntopic readwrite {BASE}/#\n")
    locked_broker.process.send_signal(signal.SIGHUP)  # it reads its rights anew
    clock.passed_s = 200.0
    one.look()
    assert one.trouble == ""
    assert read_mark(tmp_path / FILE_NAME).number == number + 1


@pytest.mark.usefixtures("house")
@pytest.mark.parametrize(("login", "mode", "told"), [
    ("kiln:falsch", 0o640, "the broker refused: Not authorized"),
    ("geheim", 0o640, "login.url: holds no login of the MQTT broker. Write one line, user:password."),
    ("kiln:geheim", 0o644, "login.url: the login of the MQTT broker can be read by everyone on this computer"),
])
def test_a_login_that_can_not_be_used_is_told_without_it(locked_broker, make_publisher, daemon_says, write_key, login,
                                                        mode, told, caplog, clock):
    daemon_says()
    one = make_publisher(locked_broker, login_file=write_key("login", login, mode))
    for _ in range(3):
        one.look()
        clock.passed_s += 200
    assert told in one.trouble
    assert len(logged(caplog, login)) == 1, "trouble is logged when it changes"


@pytest.mark.usefixtures("house")
def test_a_plain_line_goes_nowhere_but_home(broker, make_publisher, daemon_says, monkeypatch):
    daemon_says()
    real = socket.getaddrinfo
    monkeypatch.setattr(connection.socket, "getaddrinfo",
                        lambda host, port, **more: real("198.51.100.7", port, **more))
    monkeypatch.setattr(connection, "is_at_home", lambda address: address.startswith("127."))
    one = make_publisher(broker)
    one.look()
    assert one.trouble == ("[mqtt] host: 127.0.0.1 is not in the home network, and tls is off. Encrypt the line: "
                           "lehrling settings set mqtt.tls true")


@pytest.mark.usefixtures("house")
@pytest.mark.skipif(shutil.which("openssl") is None and "CI" not in os.environ, reason="openssl is not installed")
def test_over_tls_the_broker_is_believed_by_the_authority_that_the_settings_name(
        make_broker, make_publisher, daemon_says, tmp_path, clock):
    daemon_says()
    certificate, key = tmp_path / "cert.pem", tmp_path / "key.pem"
    subprocess.run(["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-subj", "/CN=broker", "-addext",
                    "subjectAltName=IP:127.0.0.1", "-days", "2", "-keyout", str(key), "-out", str(certificate)],
                   check=True, capture_output=True, timeout=60)
    broker = make_broker(f"certfile {certificate}\nkeyfile {key}\nallow_anonymous true",
                         "persistence false\nuser root")
    stranger = make_publisher(broker, tls=True)
    stranger.look()
    assert "certificate verify failed" in stranger.trouble or "CERTIFICATE_VERIFY_FAILED" in stranger.trouble
    missing = make_publisher(broker, tls=True, ca_file=tmp_path / "none.pem")
    missing.look()
    assert missing.trouble.startswith(f"[mqtt] ca_file: {tmp_path / 'none.pem'} can't be used: No such file")
    known = make_publisher(broker, tls=True, ca_file=certificate)
    known.look()
    assert known.trouble == ""
