"""Firing something again: what was in the kiln and by which plan, for the form that starts a firing."""

from __future__ import annotations

from daemon.store.firings import Firing
from web.request.context import settings
from web.request.load_form import GLASSES
from web.request.thickness import thickness_figure


def again(firing: Firing, *, plan_id: int | None = None) -> dict[str, object]:
    """Return the fields of the start's form as a firing had them; ``plan_id`` chooses another version of its plan."""
    chosen = plan_id if plan_id is not None else firing.plan_id
    return {
        "title": firing.title, "piece": list(firing.piece_ids), "plan": "" if chosen is None else chosen,
        "thickness": thickness_figure(firing.thickness_mm, settings().config.thickness_unit), "faces": firing.faces,
        "glass": firing.glass if firing.glass in GLASSES else "",
    }
