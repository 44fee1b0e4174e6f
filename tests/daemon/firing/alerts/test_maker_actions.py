"""What the maker said explains: which kinds, from how long before it to how long after."""

from __future__ import annotations

import pytest

from daemon.firing.alerts.maker_actions import unexplained
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Rank, Said, Saying
from daemon.firing.kind import Finding

SAID_S = 20_000.0


def finding(kind, since_s):
    """Return a finding of the kind named; its facts do not matter here."""
    (one,) = [k for k in KINDS if k.name == kind]
    return Finding(one, Rank.WAKE, since_s, None)


def is_explained(kind, since_s, what, now_s=100_000.0):
    found = finding(kind, since_s)
    return unexplained([found], [Said(SAID_S, what)], now_s) == []


@pytest.mark.parametrize(("what", "kind", "before_s", "after_s"), [
    (Saying.PEEKED, "sudden-drop", 900.0, 300.0),
    (Saying.PEEKED, "cooling-too-fast", 900.0, 300.0),
    (Saying.PEEKED, "firing-stopped", 900.0, 300.0),
    (Saying.VENTED, "sudden-drop", 900.0, 5400.0),
    (Saying.VENTED, "cooling-too-fast", 900.0, 5400.0),
    (Saying.VENTED, "firing-stopped", 900.0, 5400.0),
    (Saying.LENGTHENED, "hold-overrun", 7200.0, 7200.0),
    (Saying.LENGTHENED, "not-cooling", 7200.0, 7200.0),
    (Saying.LENGTHENED, "not-climbing", 7200.0, 7200.0),
    (Saying.ADVANCED, "hold-cut-short", 900.0, 900.0),
    (Saying.ADVANCED, "firing-stopped", 900.0, 900.0),
    (Saying.ADVANCED, "cooling-too-fast", 900.0, 900.0),
])
def test_a_saying_explains_what_began_from_a_while_before_it_to_a_while_after(what, kind, before_s, after_s):
    assert is_explained(kind, SAID_S - before_s + 1.0, what)
    assert not is_explained(kind, SAID_S - before_s - 1.0, what)
    assert is_explained(kind, SAID_S + after_s - 1.0, what)
    assert not is_explained(kind, SAID_S + after_s + 1.0, what)


@pytest.mark.parametrize(("what", "kind"), [
    (Saying.PEEKED, "hold-cut-short"), (Saying.PEEKED, "over-temperature"), (Saying.VENTED, "hold-overrun"),
    (Saying.LENGTHENED, "hold-cut-short"), (Saying.ADVANCED, "hold-overrun"), (Saying.QUIET, "sudden-drop"),
    (Saying.ACKNOWLEDGE, "sudden-drop"), (Saying.PROBE_OUT, "sensor-fault"),
])
def test_a_saying_explains_no_other_kind(what, kind):
    assert not is_explained(kind, SAID_S, what)


def test_nothing_is_explained_before_it_is_said():
    assert not is_explained("sudden-drop", SAID_S - 10.0, Saying.VENTED, now_s=SAID_S - 1.0)
    assert is_explained("sudden-drop", SAID_S - 10.0, Saying.VENTED, now_s=SAID_S)


def test_each_finding_needs_its_own_explanation():
    drop, late = finding("sudden-drop", SAID_S), finding("sudden-drop", SAID_S + 9000.0)
    over = finding("over-temperature", SAID_S)
    said = [Said(SAID_S + 9000.0, Saying.QUIET), Said(SAID_S, Saying.PEEKED)]
    assert unexplained([drop, over, late], said, SAID_S + 9100.0) == [over, late]
    assert unexplained([drop, over], [], SAID_S) == [drop, over]
