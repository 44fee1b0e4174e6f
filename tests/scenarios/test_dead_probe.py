"""A probe that dies reads a plausible room, and must never be taken for a cold kiln or a shut lid."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.report import judge

MIN = 60.0


@pytest.mark.parametrize(("step", "part", "after_s"), [(4, "ramp", 900.0), (3, "ramp", 900.0), (4, "hold", 900.0)])
def test_a_probe_that_dies_wakes_says_so_and_stands(fired, step, part, after_s):
    night = fired("full-fuse-6mm")
    at_s = night.part(step, part).start_s + after_s
    dead = [s if s.t_s < at_s else s._replace(temp_c=21.5, low_c=None, high_c=None) for s in night.samples
            if s.t_s < at_s + 3 * 3600]
    (told,) = [a for a in judge(night.setup, dead).alerts if a.kind == "sudden-drop"]
    assert told.rank is Rank.WAKE
    assert 0.0 < told.woke_s - at_s <= 3 * MIN
    assert told.cleared_s is None
    assert told.text.what.startswith("The probe leapt from ")
    assert "the kiln's own display" in told.text.do
