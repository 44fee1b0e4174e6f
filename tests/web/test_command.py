"""The command says what stands in its way, in one message."""

from __future__ import annotations

import argparse
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from daemon.errors import BadInput
from daemon.settings.config import Config
from web.command import COMMAND, settings_of
from web.security import passcode


def _args(*given: str) -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    COMMAND.configure(parser)
    return parser.parse_args(list(given))


def _free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


def test_a_taken_port_is_bad_input_with_a_remedy(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        with pytest.raises(BadInput) as told:
            COMMAND.run(_args("--data", str(tmp_path), "--run", str(tmp_path), "--port", port, "--open"))
    assert port in told.value.text
    assert "--port" in told.value.remedy


@pytest.mark.parametrize("given", [
    ("--port", "0"), ("--port", "70000"), ("--host", "no.such.host.invalid"), ("--host", "192.0.2.1"),
    ("--open", "--host", "0.0.0.0"), ("--data", "/nowhere/at/all"), ("--config", "/nowhere/lehrling.toml"),
])
def test_what_cannot_be_used_is_named(tmp_path, given):
    with pytest.raises(BadInput) as told:
        COMMAND.run(_args("--data", str(tmp_path), "--run", str(tmp_path), *given))
    assert told.value.remedy


def test_a_host_that_cannot_be_used_is_named_and_not_the_port(tmp_path):
    with pytest.raises(BadInput) as told:
        COMMAND.run(_args("--data", str(tmp_path), "--run", str(tmp_path), "--host", "192.0.2.1"))
    assert told.value.text.startswith("--host 192.0.2.1: this is no address of this computer.")
    assert "port" not in told.value.text


def test_a_folder_that_cannot_be_written_is_named(tmp_path, monkeypatch):
    def refuse(*_: object) -> int:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("os.open", refuse)
    with pytest.raises(BadInput, match="Permission denied"):
        passcode.keep(tmp_path / "passcode", "long enough words")


def test_a_rehearsal_under_way_ends_with_the_page(tmp_path, monkeypatch):
    class Server:
        channel_class = maintenance = None

        def run(self):
            raise SystemExit(0)

        def close(self):
            pass

    ended = []
    monkeypatch.setattr("waitress.create_server", lambda *_, sockets, **__: (sockets[0].close(), Server())[1])
    monkeypatch.setattr("signal.signal", lambda *_: None)
    monkeypatch.setattr("web.kiln.rehearsal.end", ended.append)
    given = ("--data", str(tmp_path), "--run", str(tmp_path), "--open", "--port", str(_free_port()))
    assert COMMAND.run(_args(*given)) == 0
    assert ended == [tmp_path]


def test_the_owners_file_reaches_the_page(tmp_path):
    from dataclasses import replace

    config = replace(Config(), unit="F", time_zone="Europe/Vienna", kiln_name="The blue one")
    settings = settings_of(_args("--data", str(tmp_path)), config)
    assert (settings.unit, str(settings.zone), settings.kiln) == ("F", "Europe/Vienna", "The blue one")
    assert not settings.open_house


def test_a_passcode_is_set_from_a_pipe_and_never_echoed(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "daemon.cli", "web", "--data", str(tmp_path), "--set-passcode"],
        input="warm sand and slow rivers\n", capture_output=True, text=True, timeout=120)
    assert done.returncode == 0
    assert "warm sand" not in done.stdout + done.stderr
    assert passcode.fits(tmp_path / "passcode", "warm sand and slow rivers")


def test_a_short_passcode_is_refused_with_exit_code_2(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "daemon.cli", "web", "--data", str(tmp_path), "--set-passcode"],
        input="short\n", capture_output=True, text=True, timeout=120)
    assert done.returncode == 2
    assert "at least 8" in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "passcode").exists()


@pytest.mark.parametrize("piped", [b"\xff\xfe warm sand\n", b"warm \x80\n"])
def test_bytes_that_are_no_text_are_refused_in_words(tmp_path, piped):
    done = subprocess.run(
        [sys.executable, "-m", "daemon.cli", "web", "--data", str(tmp_path), "--set-passcode"],
        input=piped, capture_output=True, timeout=120)
    assert done.returncode == 2
    assert b"holds bytes that are no text" in done.stderr
    assert b"Traceback" not in done.stderr
    assert not (tmp_path / "passcode").exists()


def test_it_serves_refuses_a_huge_body_and_ends_when_told(tmp_path: Path):
    port = _free_port()
    server = subprocess.Popen(
        [sys.executable, "-m", "daemon.cli", "web", "--data", str(tmp_path), "--run", str(tmp_path), "--open",
         "--port", str(port)], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        assert server.stdout is not None
        assert f"127.0.0.1:{port}" in server.stdout.readline()
        with pytest.raises(urllib.error.HTTPError) as told:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=60)
        assert told.value.code == 503  # no daemon has run here
        told.value.close()
        with socket.create_connection(("127.0.0.1", port), timeout=60) as line:
            line.sendall(b"POST /pieces/new HTTP/1.1\r\nHost: localhost\r\nContent-Length: 60000000\r\n\r\n")
            assert b"413" in line.recv(200).split(b"\r\n")[0]
    finally:
        server.terminate()
        assert server.wait(60) == 0
        server.stdout.close()


def test_behind_a_proxy_that_speaks_https_visitors_are_told_apart_and_cookies_stay_on_https(tmp_path):
    """A real server: what a proxy on this machine forwards is believed, and only where the owner says so."""
    import json

    (tmp_path / "lehrling.toml").write_text("[page]\nbehind_tls = true\n", encoding="utf-8")
    port = _free_port()
    server = subprocess.Popen(
        [sys.executable, "-m", "daemon.cli", "web", "--data", str(tmp_path), "--run", str(tmp_path), "--port",
         str(port)], stderr=subprocess.PIPE)
    try:
        server.stderr.readline()
        head = {"X-Forwarded-For": "192.168.1.9", "X-Forwarded-Proto": "https", "Host": "localhost"}
        far = urllib.request.Request(f"http://127.0.0.1:{port}/passcode", headers=head)
        page = urllib.request.urlopen(far, timeout=60).read().decode()
        assert "only be set on the machine itself" in page  # a visitor from the network, not from here
        near = urllib.request.Request(f"http://127.0.0.1:{port}/passcode", method="POST",
                                      data=b"passcode=warm+sand+and+rivers&again=warm+sand+and+rivers",
                                      headers={"Host": "localhost", "Origin": "https://localhost",
                                               "X-Forwarded-For": "127.0.0.1", "X-Forwarded-Proto": "https"})

        class Still(urllib.request.HTTPRedirectHandler):
            def redirect_request(self, *_):
                return None

        with pytest.raises(urllib.error.HTTPError) as led:
            urllib.request.build_opener(Still).open(near, timeout=60)
        assert led.value.code == 302
        assert "Secure" in led.value.headers["Set-Cookie"]
        led.value.close()
    finally:
        server.terminate()
        server.wait(60)
        server.stderr.close()
    assert json.loads((tmp_path / "page-sessions").read_text(encoding="utf-8"))[0]["address"] == "127.0.0.1"


def test_a_proxy_is_for_a_page_nobody_else_reaches(tmp_path):
    (tmp_path / "lehrling.toml").write_text('[page]\nbehind_tls = true\nhost = "0.0.0.0"\n', encoding="utf-8")
    with pytest.raises(BadInput, match="only a proxy on this machine reaches"):
        COMMAND.run(_args("--data", str(tmp_path), "--run", str(tmp_path), "--port", str(_free_port())))
