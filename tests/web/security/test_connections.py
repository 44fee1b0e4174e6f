"""One bad neighbour neither silences the page nor fills the temporary folder."""

from __future__ import annotations

import os
import socket
from contextlib import ExitStack
from pathlib import Path

import pytest
import waitress
from waitress import wasyncore

from web.security.connections import (
    CONNECTIONS_FROM_ONE,
    LONGEST_ASKING_S,
    LONGEST_SENDING_S,
    UPLOADS_FROM_ALL,
    UPLOADS_FROM_ONE,
    Unfinished,
    bound,
    origin_of,
    to_close,
)

MEGABYTE = 1_000_000


def _upload(origin: str, sent: int, since_s: float = 0.0) -> Unfinished:
    return Unfinished(origin, since_s, sent, 12 * MEGABYTE)


def test_a_request_that_trickles_is_given_up_and_one_that_has_just_begun_is_not():
    trickles, begun = Unfinished("a", 0.0, 0, 0), Unfinished("b", 25.0, 0, 0)
    assert to_close([trickles, begun], LONGEST_ASKING_S + 1) == [trickles]


def test_a_picture_over_a_bad_line_is_waited_for_and_given_up_at_last():
    slow = _upload("a", 5 * MEGABYTE)
    assert to_close([slow], LONGEST_ASKING_S + 100) == []
    assert to_close([slow], LONGEST_SENDING_S + 1) == [slow]


def test_of_too_many_pictures_the_slowest_are_given_up():
    mine = _upload("mine", 6 * MEGABYTE)
    odd = [_upload(f"odd {n % 5}", 1000 + n) for n in range(20)]
    given_up = to_close([*odd, mine], 10.0)
    kept = [one for one in (*odd, mine) if one not in given_up]
    assert mine in kept
    assert len(kept) == UPLOADS_FROM_ALL
    assert max(sum(one.origin == f"odd {n}" for one in kept) for n in range(5)) <= UPLOADS_FROM_ONE


def test_forms_are_not_counted_as_pictures():
    assert to_close([Unfinished("a", 0.0, 500, 900) for _ in range(30)], 5.0) == []


@pytest.mark.parametrize(("one", "other", "same"), [
    ("192.168.1.9", "192.168.1.9", True), ("192.168.1.9", "192.168.1.10", False),
    ("2001:db8:1:2::5", "2001:db8:1:2:aaaa::9", True), ("2001:db8:1:2::5", "2001:db8:1:3::5", False),
    ("fe80::1%eth0", "fe80::1", True), ("::ffff:192.168.1.9", "192.168.1.9", True),
    ("::ffff:192.168.1.9", "::ffff:192.168.1.10", False),
])
def test_what_counts_as_one_address(one, other, same):
    assert (origin_of(one) == origin_of(other)) is same


def _connect(port: int, origin: str) -> socket.socket:
    line = socket.socket()
    line.settimeout(10)
    line.bind((origin, 0))
    line.connect(("127.0.0.1", port))
    return line


def test_two_hundred_trickling_connections_of_one_address_do_not_silence_the_page(real_server):
    with ExitStack() as lines:
        odd = [lines.enter_context(_connect(real_server.port, "127.0.0.2")) for _ in range(200)]
        for line in odd:
            try:
                line.sendall(b"GET / HTTP/1.1\r\nHost: ")
            except OSError:  # refused already
                continue
        assert real_server.get("/") == 200
        refused = 0
        for line in odd:
            line.settimeout(0.05)
            try:
                refused += line.recv(1) == b""
            except TimeoutError:
                continue
            except OSError:
                refused += 1
        assert refused == 200 - CONNECTIONS_FROM_ONE


def test_twenty_unfinished_pictures_do_not_fill_the_temporary_folder(real_server):
    head = (b"POST /pieces/1/photographs HTTP/1.1\r\nHost: localhost\r\nContent-Length: 12000000\r\n"
            b"Content-Type: multipart/form-data; boundary=x\r\n\r\n")
    with ExitStack() as lines:
        odd = [lines.enter_context(_connect(real_server.port, f"127.0.0.{n}")) for n in range(2, 22)]
        for line in odd:
            line.sendall(head + b"x" * MEGABYTE)
        ended = 0
        for line in odd:
            line.settimeout(1.0 if ended < len(odd) - UPLOADS_FROM_ALL else 0.05)
            try:
                ended += line.recv(1) == b""
            except TimeoutError:
                continue
            except OSError:
                ended += 1
        assert ended >= len(odd) - UPLOADS_FROM_ALL
        assert _open_temporary_bytes(real_server.process.pid) < (UPLOADS_FROM_ALL + 1) * 2 * MEGABYTE
        assert real_server.get("/") == 200


def _open_temporary_bytes(pid: int) -> int:
    """Return how much a process holds in files that are deleted already, as temporary ones are [bytes]."""
    total = 0
    for handle in Path(f"/proc/{pid}/fd").iterdir():
        try:
            if "(deleted)" in os.readlink(handle):
                total += handle.stat().st_size
        except OSError:
            continue
    return total


def test_a_body_that_is_too_long_is_refused_in_the_page_s_words():
    server = waitress.create_server(lambda *_: [], host="127.0.0.1", port=0, max_request_body_size=100, map={})
    bound(server, lambda: 0.0, behind_proxy=False)
    with socket.create_connection(("127.0.0.1", server.effective_port), timeout=5) as line:
        line.sendall(b"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 26000000\r\n\r\n")
        line.setblocking(False)
        answer = b""
        for _ in range(200):
            wasyncore.poll(0.01, server._map)
            try:
                answer += line.recv(65536)
            except BlockingIOError:
                continue
            if b"</html>" in answer:
                break
    server.task_dispatcher.shutdown()
    for channel in list(server.active_channels.values()):
        channel.handle_close()
    server.close()
    assert answer.startswith(b"HTTP/1.1 413 Request Entity Too Large")
    assert b"text/html" in answer
    assert "No photograph may have more than 12 MB".lower() in answer.decode().lower()
    assert b"generated by" not in answer
