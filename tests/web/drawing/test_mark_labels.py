"""Words of alerts never lie over each other or over a mark, on the worst of nights too."""

from __future__ import annotations

import itertools
import random
import re

import pytest

from web.drawing.mark_labels import WORD_PX, labels
from web.drawing.trace_model import Mark, Picture
from web.drawing.trace_svg import svg

KINDS = ("cooling too fast", "firing stopped", "restarted", "sudden drop", "readings missing", "hold cut short",
         "not climbing", "over temperature", "hold off target", "sensor fault", "haze range", "hold overrun")
"""Twelve alerts of one night."""


def night(seed: int, hours: float) -> tuple[Mark, ...]:
    """Return twelve alerts within so many hours of a night of sixteen."""
    chance = random.Random(seed)
    times = sorted(20_000.0 + chance.random() * hours * 3600 for _ in KINDS)
    return tuple(Mark(t_s, t_s + 600.0, chance.choice(("wake", "look")), words)
                 for t_s, words in zip(times, KINDS, strict=True))


def overlaps(spans) -> bool:
    return any(a[1] > b[0] and b[1] > a[0] for a, b in itertools.combinations(spans, 2))


@pytest.mark.parametrize("hours", [0.2, 1.0, 4.0, 10.0])
def test_twelve_alerts_have_no_words_over_each_other_or_over_a_mark(hours):
    for seed in range(40):
        marks = night(seed, hours)
        places = [64.0 + mark.t_s / 57_600 * 1006 for mark in marks]
        found = labels(marks, places, 64.0, 1070.0)
        spans = [label.span for label in found]
        assert found
        assert not overlaps(spans)
        for begin, end in spans:
            assert 64.0 <= begin < end <= 1070.0
            assert not any(begin < x + 4.5 and end > x - 4.5 for x in places)


def test_in_the_drawing_itself_no_two_words_share_a_place():
    for seed in range(10):
        marks = night(seed, 3.0)
        drawn = svg(Picture(columns=((0, 20, 20, 20), (57_600, 40, 40, 40)), marks=marks))
        texts = re.findall(r'<text class="(?:wake|look)" x="([0-9.]+)" y="[0-9.]+" text-anchor="(start|end)"[^>]*>'
                           r"([^<]+)</text>", drawn)
        assert texts
        spans = []
        for x, anchor, words in texts:
            long_px = len(words) * WORD_PX
            spans.append((float(x), float(x) + long_px) if anchor == "start" else (float(x) - long_px, float(x)))
        assert not overlaps(spans)


def test_one_that_got_somebody_up_is_named_before_one_for_the_morning():
    look, wake = Mark(100.0, None, "look", "hold off target"), Mark(160.0, None, "wake", "sudden drop")
    (first, *_) = labels((look, wake), (100.0, 160.0), 0.0, 1000.0)
    assert first.mark is wake


def test_what_has_no_room_at_the_right_stands_at_the_left():
    (label,) = labels((Mark(990.0, None, "wake", "sudden drop"),), (990.0,), 0.0, 1000.0)
    assert label.is_turned
    assert label.span[1] < 990.0
