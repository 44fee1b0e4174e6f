"""The inks of the page: one paper for the day, one dim lamp for the night.

The stylesheet names the same inks as custom properties; a test holds the two together. Contrast against
the ground is at least 4.5:1 for words and 3:1 for lines that carry meaning (WCAG 2.2, 1.4.3 and 1.4.11).
Vermilion and blue are hues of the Okabe-Ito palette, darkened or dimmed to meet that.
"""

from __future__ import annotations

from collections.abc import Mapping

DAY: Mapping[str, str] = {
    "ground": "#f7f4ec",
    "ink": "#211f1b",
    "grey": "#5f5a50",
    "line": "#877f71",
    "hair": "#dfd8c9",
    "band": "#dccfb2",
    "hatch": "#aea28d",
    "wake": "#b34000",
    "look": "#00629c",
}

NIGHT: Mapping[str, str] = {
    "ground": "#131312",
    "ink": "#c6bfb2",
    "grey": "#968f83",
    "line": "#756f65",
    "hair": "#2b2926",
    "band": "#453d30",
    "hatch": "#57503f",
    "wake": "#e06c30",
    "look": "#519fce",
}

PRINT: Mapping[str, str] = {
    "ground": "#ffffff",
    "ink": "#000000",
    "grey": "#333333",
    "line": "#555555",
    "hair": "#cccccc",
    "band": "#d2d2d2",
    "hatch": "#777777",
    "wake": "#000000",
    "look": "#000000",
}
"""Black on white, for the card."""

INKS: Mapping[str, Mapping[str, str]] = {"day": DAY, "night": NIGHT, "print": PRINT}
