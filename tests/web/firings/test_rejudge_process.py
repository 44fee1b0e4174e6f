"""Judging again: one at a time, and nobody waits for it on one of the page's few threads."""

from __future__ import annotations

import threading

from web.command import THREADS
from web.firings import rejudge_process
from web.request import child_process

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


def test_while_one_is_judged_the_others_are_told_at_once(client, studio, monkeypatch):
    """Each of these answers is asked for on one thread: with a wait, four of them held all the page's threads."""
    number = studio.fill(ended=True)
    begun, go_on, answers = threading.Event(), threading.Event(), []

    def judges(*_, **__):
        begun.set()
        go_on.wait(60)
        raise OSError

    class NobodyWaits:
        """A lock that refuses to be waited for."""

        def __init__(self):
            self._lock = threading.Lock()

        def acquire(self, blocking=True, timeout=-1.0):
            assert not blocking
            assert timeout == -1.0
            return self._lock.acquire(blocking=False)

        def release(self):
            self._lock.release()

    monkeypatch.setattr(child_process.subprocess, "run", judges)
    monkeypatch.setattr(rejudge_process._PROCESS, "busy", NobodyWaits())
    first = threading.Thread(target=lambda: answers.append(client.get(f"/firings/{number}/again").status_code))
    first.start()
    assert begun.wait(60)
    try:
        for _ in range(THREADS):
            told = studio.app().test_client().get(f"/firings/{number}/again")
            assert told.status_code == 503
            assert "Another firing is being judged" in told.text
    finally:
        go_on.set()
        first.join(60)
    assert answers == [503]
