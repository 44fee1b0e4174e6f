"""``lehrling alerts``: what a test brought, and what was raised, as lines; and the daily word."""

import json
import threading
import time

import pytest

from daemon.cli import main
from daemon.clock import SystemClock
from daemon.commands import alerts as command
from daemon.notify.alert_messages import Channel
from daemon.notify.daily_word import tell_awake
from daemon.notify.other_messages import Post
from daemon.service import try_sounder
from daemon.store import outbox
from daemon.store.database import create_database, open_database
from daemon.store.outbox import Mark

SETTINGS = "".join(f'[[channel]]\nname = "{name}"\nurl_file = "{name}.url"\n' for name in ("phone", "mail"))


@pytest.fixture
def data(tmp_path):
    create_database(tmp_path / "lehrling.db").close()
    (tmp_path / "lehrling.toml").write_text(SETTINGS)
    return tmp_path


def deliver_beside(data, **fates):
    """Mark every message that comes, as the delivery process does: sent, or with what went wrong."""
    def work():
        db, clock = open_database(data / "lehrling.db"), SystemClock()
        left = set(fates)
        for _ in range(3000):
            for fate in outbox.unsent(db):
                if fate.channel in left:
                    trouble = fates[fate.channel]
                    sent = None if trouble else clock.utc()
                    outbox.mark(db, [Mark(fate.outbox_id, 1, sent_utc=sent, error=trouble)])
                    left.discard(fate.channel)
            if not left:
                break
            time.sleep(0.02)
        db.close()

    thread = threading.Thread(target=work)
    thread.start()
    return thread


def test_a_test_says_of_every_channel_what_came_of_it(data, capsys):
    beside = deliver_beside(data, phone="", mail="the server answered 550")
    assert main(["alerts", "test", "--data", str(data)]) == 1
    beside.join()
    sounder, phone, mail, hint = capsys.readouterr().out.splitlines()
    assert sounder == "sounder: there is none in the settings. lehrling settings set sounder.pin D17"
    assert phone.startswith("phone: taken after ")
    assert mail == "mail: not taken: the server answered 550."
    assert hint.startswith("Sent does not mean heard")


def test_one_channel_alone_can_be_tried(data, capsys):
    beside = deliver_beside(data, mail="")
    assert main(["alerts", "test", "mail", "--data", str(data)]) == 0
    beside.join()
    assert capsys.readouterr().out.startswith("mail: taken after ")


def test_without_a_delivery_process_it_says_so(data, capsys, monkeypatch):
    monkeypatch.setattr(command, "WAIT_S", 0.2)
    assert main(["alerts", "test", "phone", "--data", str(data)]) == 1
    assert capsys.readouterr().out == "phone: nothing has tried it. Is lehrling deliver running?\n"


@pytest.mark.parametrize(("settings", "words", "told"), [
    (SETTINGS, ["bell"], "channel bell: is none of the settings. Known: mail, phone, sounder."),
    ("", [], "[[channel]]: there is none in the settings, so nobody is told."),
])
def test_what_cannot_be_tried_is_told(data, settings, words, told, capsys):
    (data / "lehrling.toml").write_text(settings)
    assert main(["alerts", "test", *words, "--data", str(data)]) == 2
    assert told in capsys.readouterr().err


def test_the_sounder_is_sounded_by_the_daemon(data, capsys, monkeypatch):
    (data / "lehrling.toml").write_text('[sounder]\npin = "D17"\n')
    words = ["alerts", "test", "sounder", "--data", str(data), "--run", str(data)]
    assert main(words) == 1
    assert capsys.readouterr().out.startswith("sounder: not tried: lehrling daemon, which has its pins, does not run")
    asked = []
    monkeypatch.setattr(try_sounder, "call", lambda path, kind, payload: asked.append((path, kind)) or "done")
    assert main(words) == 0
    assert capsys.readouterr().out == "sounder: sounds now, for 8 s. Do you hear it where you sleep?\n"
    assert asked == [(data / "lehrling.sock", "sounder-trial")]
    monkeypatch.setattr(try_sounder, "call", lambda *_: "refused: sounder: No sounder. D17 is busy.")
    assert main(words) == 1
    assert capsys.readouterr().out == "sounder: No sounder. D17 is busy.\n"


def test_the_list_tells_alerts_and_what_was_sent(told_studio, capsys, monkeypatch):
    monkeypatch.setattr(command, "settings", None)
    assert main(["alerts", "list", "--data", str(told_studio.folder)]) == 0
    out = capsys.readouterr().out
    assert "[get up] cooling-too-fast, raised " in out
    assert "to phone: GET UP: cooling too fast" in out
    assert "nothing has tried it." in out


def test_a_list_before_the_first_firing_and_of_none(data, capsys):
    assert main(["alerts", "list", "--data", str(data)]) == 0
    assert capsys.readouterr().out == "No firing yet.\n"
    assert main(["alerts", "list", "--firing", "7", "--data", str(data)]) == 2


def test_the_daily_word_says_how_it_stands_and_waits_in_the_outbox(data):
    present = json.dumps({"kiln": "Kiln", "sentence": "No firing is open.", 
                          "trouble": [{"ailing": "record", "text": "Storage: full."}]})
    tell_awake(data / "lehrling.db", present, Post((Channel("phone", data / "phone.url"),)), SystemClock())
    db = open_database(data / "lehrling.db")
    row, = db.query("SELECT title, body, about FROM outbox")
    db.close()
    assert (row["title"], row["about"]) == ("Lehrling is awake, with trouble", "awake")
    assert row["body"].splitlines()[:2] == ["Kiln: No firing is open.", "Storage: full."]


def test_a_daily_word_that_cannot_be_written_stops_nothing(tmp_path):
    tell_awake(tmp_path / "none.db", "{}", Post((Channel("phone", tmp_path / "phone.url"),)), SystemClock())
