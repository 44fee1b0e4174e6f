"""Troubles of Lehrling itself come out of the state file as they went in, and nothing in it can stop its readers."""

from __future__ import annotations

import json

import pytest

from daemon.notify.trouble import Ailing, Trouble, troubles_in


def test_troubles_come_out_as_they_went_in():
    told = [Trouble(ailing, f"{ailing.value} fails.") for ailing in Ailing]
    state = json.loads(json.dumps({"trouble": [trouble.as_json() for trouble in told]}))
    assert troubles_in(state) == told


def test_a_part_that_is_not_known_keeps_its_sentence():
    assert troubles_in({"trouble": [{"ailing": "lamp", "text": "It is out."}, {"text": "What?"}]}) == [
        Trouble(Ailing.UPKEEP, "It is out."), Trouble(Ailing.UPKEEP, "What?")]


@pytest.mark.parametrize("trouble", [None, "text", 3, {}, [], ["text"], [{"ailing": "record"}], [{"text": 3}]])
def test_what_makes_no_sense_is_left_out(trouble):
    assert troubles_in({"trouble": trouble}) == []
