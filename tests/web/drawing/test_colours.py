"""Words reach 4.5:1 and meaningful lines 3:1 against the ground, by day and by night.

WCAG 2.2, success criteria 1.4.3 and 1.4.11; the formula is its definition of relative luminance.
"""

from __future__ import annotations

import pytest

from web.drawing.colours import INKS


def _luminance(ink: str) -> float:
    channels = [int(ink[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    high, low = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("theme", INKS)
@pytest.mark.parametrize(("ink", "least"), [
    ("ink", 7.0), ("grey", 4.5), ("wake", 4.5), ("look", 4.5), ("line", 3.0),
])
def test_every_ink_can_be_read(theme, ink, least):
    assert _contrast(INKS[theme][ink], INKS[theme]["ground"]) >= least


@pytest.mark.parametrize("theme", INKS)
def test_the_measured_line_stands_out_from_the_plan_under_it(theme):
    assert _contrast(INKS[theme]["ink"], INKS[theme]["band"]) >= 4.5


@pytest.mark.parametrize("theme", INKS)
def test_the_line_of_the_plan_can_be_seen_on_its_band(theme):
    assert _contrast(INKS[theme]["grey"], INKS[theme]["band"]) >= 3.0
