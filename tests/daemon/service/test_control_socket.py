from __future__ import annotations

import json
import socket
import threading
from contextlib import ExitStack
from queue import SimpleQueue

import pytest

from daemon.service.control_socket import CALLERS, ControlSocket


@pytest.fixture
def control_socket(tmp_path):
    (tmp_path / "lehrling.sock").touch()  # left behind by one that was killed
    served = ControlSocket(tmp_path / "lehrling.sock", lambda: '{"temp_c": 514.2}', SimpleQueue())
    yield served
    served.close()


def _call(tmp_path, line):
    with socket.socket(socket.AF_UNIX) as caller:
        caller.settimeout(60)
        caller.connect(str(tmp_path / "lehrling.sock"))
        caller.sendall(line)
        return json.loads(caller.makefile().readline())


def test_the_present_is_told(control_socket, tmp_path):
    assert _call(tmp_path, b'{"kind": "present"}\n') == {"temp_c": 514.2}


def test_a_request_waits_for_its_outcome_at_the_next_tick(control_socket, tmp_path):
    def tick():
        call = control_socket.calls.get()
        assert (call.kind, call.payload) == ("acknowledge", {"alert_no": 1})
        call.settle("done")

    daemon = threading.Thread(target=tick)
    daemon.start()
    answer = _call(tmp_path, b'{"kind": "acknowledge", "payload": {"alert_no": 1}}\n')
    daemon.join()
    assert answer == {"outcome": "done"}


@pytest.mark.parametrize("line", [
    b"\n", b"hello\n", b"[]\n", b"3\n", b'{"payload": {}}\n', b'{"kind": 3}\n', b'{"kind": "end", "payload": 4}\n',
    b"\xff\xfe\n", b"[" * 50_000 + b"\n", b'{"kind": "' + b"x" * 70_000 + b'"}\n',
])
def test_what_is_no_call_is_answered_with_an_error_and_reaches_no_tick(control_socket, tmp_path, line):
    assert "error" in _call(tmp_path, line)
    assert control_socket.calls.empty()


def test_more_callers_than_seats_are_turned_away_and_the_seats_come_free_again(control_socket, tmp_path):
    with ExitStack() as crowd:
        for _ in range(CALLERS + 4):
            caller = crowd.enter_context(socket.socket(socket.AF_UNIX))
            caller.settimeout(60)
            caller.connect(str(tmp_path / "lehrling.sock"))
        assert caller.recv(1) == b""
    for _ in range(1200):
        try:
            assert _call(tmp_path, b'{"kind": "present"}\n') == {"temp_c": 514.2}
            return
        except (ConnectionError, json.JSONDecodeError):
            threading.Event().wait(0.05)
    pytest.fail("no seat came free")


def test_the_socket_goes_with_the_daemon_and_is_for_its_group_only(tmp_path):
    served = ControlSocket(tmp_path / "lehrling.sock", lambda: "{}", SimpleQueue())
    assert (tmp_path / "lehrling.sock").stat().st_mode & 0o777 == 0o660
    served.close()
    assert not (tmp_path / "lehrling.sock").exists()
