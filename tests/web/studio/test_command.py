"""lehrling studio: what it prints, and each thing that can be wrong in a sentence that names no secret."""

from __future__ import annotations

import re
import signal

import pytest

from benchmarks.studio.cluster import PASSWORD
from daemon.cli import main
from daemon.store import notes
from daemon.store.chain import links
from web.security import passcode, studio_token

pytestmark = pytest.mark.slow


@pytest.fixture
def lehrling(server, capsys):
    """Return a function that runs ``lehrling studio`` on the server's settings: exit code and what it said."""
    handlers = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGINT)}

    def run(*arguments):
        code = main(["studio", *arguments, "--settings", str(server.folder / "studio.toml")])
        said = capsys.readouterr()
        assert PASSWORD not in said.out + said.err
        return code, said.out + said.err

    yield run
    for number, handler in handlers.items():
        signal.signal(number, handler)


def test_a_box_prints_its_token_and_how_to_turn_it_on(studio, capsys):
    studio.open_store().close()
    assert main(["studio", "token", "--data", str(studio.folder), "--run", str(studio.folder)]) == 0
    said = capsys.readouterr()
    assert said.out.strip() == studio_token.token(passcode.page_key(studio.folder),
                                                  passcode.fingerprint(studio.folder / "passcode"))
    assert said.err == "It holds once you turn it on: lehrling settings set page.studio true\n"
    (studio.folder / "lehrling.toml").write_text("[page]\nstudio = true\n")
    assert main(["studio", "token", "--data", str(studio.folder), "--run", str(studio.folder)]) == 0
    assert capsys.readouterr().err == ""


def test_a_new_passcode_makes_a_new_token(studio, cheap_hash):
    key = passcode.page_key(studio.folder)
    before = studio_token.token(key, passcode.fingerprint(studio.folder / "passcode"))
    passcode.keep(studio.folder / "passcode", "four plain words here")
    mark = passcode.fingerprint(studio.folder / "passcode")
    assert not studio_token.is_shown(f"Bearer {before}", key, mark)
    assert studio_token.is_shown(f"Bearer {studio_token.token(key, mark)}", key, mark)


def test_what_was_collected_is_listed_and_checked(studio, server, serve, lehrling):
    studio.fill(ended=True)
    server.settings(serve(studio))
    assert lehrling("collect", "--once")[0] == 0
    code, said = lehrling("list")
    assert code == 0
    assert re.fullmatch(r"kiln-1 +heard \d{4}-\d\d-\d\d \d\d:\d\d:\d\d UTC +firings +1  small kiln\n", said)
    code, said = lehrling("verify")
    assert code == 0
    assert "1 firings, " in said
    assert ", 6082 readings\nAll as the boxes kept it.\n" in said
    server.write("UPDATE lehrling.reading SET temp_128 = temp_128 + 1 WHERE t_s = 700")
    code, said = lehrling("verify")
    assert (code, "not as it was kept: kiln-1, firing 1." in said) == (2, True)


def test_a_record_that_is_another_begins_anew_beside_the_old_one(studio, server, serve, lehrling):
    number = studio.fill(until_s=4000.0)
    server.settings(serve(studio))
    assert lehrling("collect", "--once")[0] == 0
    studio.database.write_bytes(studio.empty)
    studio.fill(until_s=700.0, title="Another record")
    assert lehrling("collect", "--once")[0] == 0
    code, said = lehrling("list")
    assert "This address has another record now" in said
    code, said = lehrling("renew", "kiln-1")
    assert (code, "stays in the database" in said) == (0, True)
    assert lehrling("collect", "--once")[0] == 0
    assert "another record" not in lehrling("list")[1]
    assert server.ask("SELECT box, firing_id, content->>'title' FROM lehrling.kept WHERE kind = 'firing'"
                      " ORDER BY box") == [
        (1, number, "Bowl blank, river glass"), (2, 1, "Another record")]
    code, said = lehrling("renew", "kiln-9")
    assert (code, "nothing was collected under this name. Boxes of" in said) == (2, True)


def test_a_box_that_was_refused_says_so_in_the_list(studio, server, serve, lehrling):
    number = studio.fill(until_s=700.0)
    box = serve(studio)
    server.settings(box)
    studio.store(lambda db: (notes.add_note(db, number, "x", studio.clock.utc()), links.last(db, number)))
    (server.folder / "kiln-1.token").chmod(0o644)
    assert lehrling("collect", "--once")[0] == 0
    assert "the token of the box can be read by everyone on this computer (mode 644)." in lehrling("list")[1]
    (server.folder / "kiln-1.token").unlink()
    assert lehrling("collect", "--once")[0] == 0
    assert "the token of the box is missing." in lehrling("list")[1]


def spoil(server, what):
    """Make one thing wrong with the server's database."""
    settings = server.folder / "studio.toml"
    text = settings.read_text()
    if what == "password":
        (server.folder / "database.password").write_text("another")
    elif what == "database":
        settings.write_text(text.replace(f"dbname={server.database}", "dbname=nowhere"))
    elif what == "port":
        settings.write_text(text.replace(f"port={server.cluster.port}", "port=1"))
    elif what == "setting":
        settings.write_text(text.replace("host=127.0.0.1", "hots=127.0.0.1"))
    elif what == "newer":
        server.write("INSERT INTO lehrling.step VALUES (99)")
    elif what == "older":
        server.write("DELETE FROM lehrling.step")


@pytest.mark.parametrize(("what", "action", "said"), [
    ("password", "list", "the database refuses the user or the password. Check user in studio.toml and the password"),
    ("password", "collect", "the database refuses the user or the password."),
    ("database", "collect", 'database "nowhere" does not exist. Make it: createdb lehrling'),
    ("port", "list", "the database does not answer (connection failed"),
    ("setting", "list", "can't be used: invalid connection option \"hots\". Write it as libpq does"),
    ("newer", "collect", "newer Lehrling (step 99; 1 is known here). Update the program of this server."),
    ("newer", "list", "was made by a newer Lehrling (step 99; 1 is known here)."),
    ("older", "list", "has no tables yet. Start lehrling studio collect; it makes them."),
])
def test_what_is_wrong_with_the_database_is_said_with_the_remedy(studio, server, serve, lehrling, what, action, said):
    studio.fill(until_s=700.0)
    server.settings(serve(studio))
    assert lehrling("collect", "--once")[0] == 0
    spoil(server, what)
    code, told = lehrling(action, *(["--once"] if action == "collect" else []))
    assert (code, said in told) == (2, True), told
    assert "Traceback" not in told


def test_a_second_collector_is_refused(studio, server, serve, lehrling):
    studio.fill(until_s=700.0)
    server.collect(serve(studio))
    code, said = lehrling("collect", "--once")
    assert code == 2
    assert "another program collects into this database already. One is enough. End the other." in said
