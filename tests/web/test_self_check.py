"""The page asks itself, and systemd hears of each answer."""

from __future__ import annotations

import http.client
import signal
import socket
import subprocess
import sys
import threading
from contextlib import ExitStack, contextmanager, suppress
from time import monotonic

import pytest
import waitress

from web.command import THREADS
from web.self_check import ASKED, SelfCheck


@contextmanager
def served(app, host="127.0.0.1"):
    """Serve an application; the socket it listens at."""
    listening = socket.create_server((host, 0), family=socket.AF_INET6 if ":" in host else socket.AF_INET)
    server = waitress.create_server(app, sockets=[listening], threads=1)
    thread = threading.Thread(target=server.run)
    thread.start()
    try:
        yield listening
    finally:
        with suppress(OSError):  # a thread that answers pulls it too: the server may be closed before this pull
            server.trigger.pull_trigger(lambda: server.close())
        thread.join(10)
        assert not thread.is_alive()
        server.task_dispatcher.shutdown(timeout=1)


def _answering(status, asked=None):
    def app(environ, start_response):
        if asked is not None:
            asked.append((environ["PATH_INFO"], environ["HTTP_HOST"]))
        start_response(status, [("Content-Length", "0")])
        return [b""]
    return app


@pytest.mark.parametrize("status", ["200 OK", "302 Found", "401 Unauthorized", "503 Service Unavailable"])
def test_any_answer_counts(status):
    with served(_answering(status)) as listening:
        assert SelfCheck(listening, 60.0, monotonic).ask()


@pytest.mark.parametrize(("host", "called"), [
    ("127.0.0.1", "127.0.0.1"), ("0.0.0.0", "127.0.0.1"), ("::1", "[::1]"), ("::", "[::1]"),
])
def test_it_asks_where_the_page_listens_for_what_anybody_may_fetch(host, called):
    asked = []
    try:
        with served(_answering("200 OK", asked), host) as listening:
            port = listening.getsockname()[1]
            assert SelfCheck(listening, 60.0, monotonic).ask()
    except OSError:
        pytest.skip(f"no {host} on this computer")
    assert asked == [(ASKED, f"{called}:{port}")]


def test_a_server_whose_threads_hang_gives_no_answer():
    let_go, hangs = threading.Event(), threading.Event()

    def app(environ, start_response):
        hangs.set()
        let_go.wait(30)
        return _answering("200 OK")(environ, start_response)

    with served(app) as listening:
        check = SelfCheck(listening, 1.0, monotonic)
        assert not check.ask()
        assert hangs.is_set()
        let_go.set()
        assert SelfCheck(listening, 60.0, monotonic).ask()


def test_a_closed_socket_gives_no_answer():
    with socket.create_server(("127.0.0.1", 0)) as listening:
        check = SelfCheck(listening, 60.0, monotonic)
    assert not check.ask()


@pytest.fixture
def free_port():
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


@pytest.fixture
def page(studio, free_port):
    """Return a function that starts the page on the studio's folder, in a process of its own, with a log."""
    studio.open_store().close()
    with ExitStack() as open_things:
        log = open_things.enter_context((studio.folder / "page.log").open("wb"))

        def start():
            process = subprocess.Popen(
                [sys.executable, "-m", "daemon.cli", "web", "--data", str(studio.folder), "--run", str(studio.folder),
                 "--open", "--port", str(free_port)], stderr=log)
            open_things.callback(lambda: (process.kill(), process.wait(20)))
            return process
        yield start


def test_the_page_tells_systemd_that_it_is_up_that_it_answers_and_that_it_ends(page, systemd):
    process = page()
    assert [systemd.hears() for _ in range(3)] == ["READY=1", "WATCHDOG=1", "WATCHDOG=1"]
    process.send_signal(signal.SIGTERM)
    assert process.wait(20) == 0
    assert systemd.hears_at_last("STOPPING=1")


def test_where_nobody_waits_for_signs_of_life_it_asks_itself_nothing(page, systemd, monkeypatch):
    monkeypatch.delenv("WATCHDOG_USEC")
    page()
    assert systemd.hears() == "READY=1"
    assert systemd.hears(within_s=1.5) is None


def test_a_page_whose_threads_all_hang_gives_no_sign_of_life_until_they_go_on(
        page, systemd, studio, hanging, free_port):
    state = hanging(studio.folder / "present.json")  # Now reads it
    page()
    assert systemd.hears_at_last("WATCHDOG=1")
    with ExitStack() as lines:
        for _ in range(THREADS):
            line = http.client.HTTPConnection("127.0.0.1", free_port, timeout=30)
            lines.callback(line.close)
            line.request("GET", "/now.json")
        state.until_read()
        assert systemd.hears_no_more()  # else there is a sign each half second
        state.let_go()
        assert systemd.hears_at_last("WATCHDOG=1")
    assert "the page did not answer itself" in (studio.folder / "page.log").read_text()
