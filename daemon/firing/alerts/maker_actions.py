"""What the maker says he did explains some findings: those that began within some time of it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from daemon.firing.events import Said, Saying
from daemon.firing.kind import Finding

_EXPLAINS_S: dict[Saying, tuple[float, float]] = {
    Saying.PEEKED: (900.0, 300.0),
    Saying.VENTED: (900.0, 5400.0),
    Saying.LENGTHENED: (7200.0, 7200.0),
    Saying.ADVANCED: (900.0, 900.0),
}
"""How long before it was said, and how long after it, the trouble that it explains may begin [s].
[tuned: by trial on the bench, study not kept]"""


def unexplained(findings: Iterable[Finding[Any]], said: Iterable[Said], t_s: float) -> list[Finding[Any]]:
    """Return the findings that nothing said explains."""
    told = list(said)
    if not told:
        return list(findings)
    return [finding for finding in findings if not any(_explains(word, finding, t_s) for word in told)]


def _explains(said: Said, finding: Finding[Any], t_s: float) -> bool:
    """Return whether the finding is of a kind that ``said`` explains, and began near enough to it."""
    if said.what not in finding.kind.explained_by or said.t_s > t_s:
        return False
    before_s, after_s = _EXPLAINS_S[said.what]
    return said.t_s - before_s <= finding.since_s <= said.t_s + after_s
