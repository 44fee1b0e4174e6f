"""The stylesheet and the drawings use the same inks."""

from __future__ import annotations

import re
from pathlib import Path

import web
from web.drawing.colours import DAY, NIGHT

CSS = (Path(web.__file__).parent / "static" / "lehrling.css").read_text(encoding="utf-8")


def _inks(block: str) -> dict[str, str]:
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", block))


def test_the_stylesheet_has_the_inks_of_day_and_night():
    day, night, chosen, *_ = re.findall(r":root(?:\S*) \{(.*?)\}", CSS, re.S)
    assert _inks(chosen) == _inks(night)
    assert DAY.items() <= _inks(day).items()
    assert NIGHT.items() <= _inks(night).items()


def test_nothing_at_night_is_brighter_than_the_temperature():
    night = _inks(re.findall(r":root(?:\S*) \{(.*?)\}", CSS, re.S)[1])
    bright = {name: sum(int(ink[i:i + 2], 16) for i in (1, 3, 5)) for name, ink in night.items()}
    assert max(bright, key=lambda name: bright[name]) == "bright"
    assert ".temp { font-size: var(--s4); line-height: 1; font-weight: 350; letter-spacing: -0.035em; " \
           "color: var(--bright); }" in CSS


def test_nothing_blinks_and_nothing_comes_from_outside():
    assert not re.search(r"animation|@keyframes|@import|url\(", CSS)
