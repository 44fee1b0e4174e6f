"""Which stretch of laid-together curves is drawn: the one asked for, and the one around the tops. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from daemon.glass.exposure import HAZE_C
from web.drawing.overlay_layers import Layer

Span = tuple[float, float]
"""From and to [s from the common zero]."""

LEAST_SHOWN_S = 600.0
"""No shorter stretch is shown [s]. [chosen: a hundred readings or so]"""
_BELOW_HAZE_K = 50.0
"""The stretch around the top begins and ends this far below the haze range [K]. [chosen: the way in and out
is seen]"""
_MOST_SHARE = 0.6
"""A stretch that is more of the whole is not worth a drawing of its own. [chosen: it would be hardly larger]"""


def shown_stretch(asked_h: tuple[float | None, float | None], all_s: Span) -> Span | None:
    """Return the stretch asked for [h], cut to what there is; None for all of it, and where it is no stretch."""
    lowest_s, highest_s = all_s
    first_h, last_h = asked_h
    from_s = max(lowest_s, lowest_s if first_h is None else first_h * 3600)
    to_s = min(highest_s, highest_s if last_h is None else last_h * 3600)
    if to_s - from_s < LEAST_SHOWN_S or (from_s, to_s) == all_s:
        return None
    return from_s, to_s


def ways(shown: Span | None, all_s: Span) -> dict[str, tuple[str, str]]:
    """Return where one can go from what is shown: words, and the stretch they lead to [h].

    A way that leads nowhere, since there is nothing further, is left out.
    """
    from_s, to_s = shown or all_s
    half_s = (to_s - from_s) / 2
    back_s, on_s = min(half_s, from_s - all_s[0]), min(half_s, all_s[1] - to_s)
    found = {"Earlier": (from_s - back_s, to_s - back_s), "Later": (from_s + on_s, to_s + on_s),
             "Look closer": (from_s + half_s / 2, to_s - half_s / 2), "Wider": (from_s - back_s, to_s + on_s)}
    here = _asked((from_s, to_s))
    return {name: _asked(to) for name, to in found.items() if _asked(to) != here and to[1] - to[0] >= LEAST_SHOWN_S}


def _asked(stretch: Span) -> tuple[str, str]:
    """Return a stretch as it is asked for [h]."""
    return f"{stretch[0] / 3600:.2f}", f"{stretch[1] / 3600:.2f}"


def around_the_top(layers: Sequence[Layer], all_s: Span) -> Span | None:
    """Return the stretch in which the firings are near the haze range or above it; None where none is, or most is."""
    from_c = HAZE_C[0] - _BELOW_HAZE_K
    times = []
    for layer in layers:
        hot = [t_s for t_s, _, mid_c, _ in layer.columns if mid_c is not None and mid_c >= from_c]
        if any(mid_c is not None and mid_c >= HAZE_C[0] for _, _, mid_c, _ in layer.columns):
            times += [hot[0], hot[-1]]
    if not times:
        return None
    first_s, last_s = min(times), max(times)
    if last_s - first_s < LEAST_SHOWN_S or last_s - first_s > _MOST_SHARE * (all_s[1] - all_s[0]):
        return None
    return first_s, last_s
