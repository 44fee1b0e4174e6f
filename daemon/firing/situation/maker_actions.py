"""What the maker says he did explains some findings, for as long as it can."""

from __future__ import annotations

from collections.abc import Iterable

from daemon.firing.events import Said, Saying
from daemon.firing.situation.view import Finding

_EXPLAINS: dict[Saying, tuple[tuple[str, ...], float, float]] = {
    # what was said: (the kinds it explains, how long before it, how long after it the trouble may begin) [s]
    Saying.PEEKED: (("sudden-drop", "cooling-too-fast", "firing-stopped"), 900.0, 300.0),
    Saying.VENTED: (("sudden-drop", "cooling-too-fast", "firing-stopped"), 900.0, 5400.0),
    Saying.LENGTHENED: (("hold-overrun", "not-cooling", "not-climbing"), 7200.0, 7200.0),
    Saying.ADVANCED: (("hold-cut-short", "firing-stopped", "cooling-too-fast"), 900.0, 900.0),
}


def unexplained(findings: Iterable[Finding], said: Iterable[Said], t_s: float) -> list[Finding]:
    """Return the findings that nothing said explains."""
    told = list(said)
    return [finding for finding in findings if not any(_explains(word, finding, t_s) for word in told)]


def _explains(said: Said, finding: Finding, t_s: float) -> bool:
    entry = _EXPLAINS.get(said.what)
    if entry is None:
        return False
    kinds, before_s, after_s = entry
    if finding.kind not in kinds or said.t_s > t_s:
        return False
    return said.t_s - before_s <= finding.since_s <= said.t_s + after_s
