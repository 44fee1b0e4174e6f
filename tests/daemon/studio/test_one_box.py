"""What goes wrong while a box is asked is told once, and is over only when the box was asked without it."""

from __future__ import annotations

import logging

from daemon.clock import SystemClock
from daemon.studio import one_box
from daemon.studio.one_box import OneBox
from daemon.studio.settings import Box


def test_a_mistake_of_the_program_is_no_end_of_a_trouble(monkeypatch, caplog):
    answers = iter(["The box does not answer.", RuntimeError("a slip"), ""])

    def asked(_box, _db):
        answer = next(answers)
        if isinstance(answer, Exception):
            raise answer
        return answer

    monkeypatch.setattr(one_box, "connect", lambda *_, **__: None)
    monkeypatch.setattr(OneBox, "_asked", asked)
    monkeypatch.setattr(OneBox, "let_go", lambda _box: None)
    box = OneBox(Box("shed", "http://127.0.0.1:1", "x"), None, SystemClock())
    said = []
    for _ in range(3):
        caplog.clear()
        with caplog.at_level(logging.INFO, logger="lehrling.studio"):
            box.ask()
        said.append([record.getMessage() for record in caplog.records])
    assert said[0] == ["shed: The box does not answer."]
    assert said[1] == ["shed: a slip of this program",
                       "shed: This program made a mistake; the next round tries again."]
    assert said[2] == ["shed: collected again"]
