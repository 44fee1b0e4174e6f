"""The fields that say what is in the kiln: pieces, plan, glass, thickness, faces; for starting and naming.

What was fired before can be fired again with the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from daemon.firing.setup import DEFAULT_GLASS, DEFAULT_THICKNESS_MM, THICKEST_MM, THINNEST_MM
from daemon.glass.materials import FAMILIES
from daemon.store import pieces, plans
from daemon.store.firings import Firing
from daemon.store.pieces import Piece
from daemon.store.plans import StoredPlan
from web.request.context import database, settings
from web.request.form import Form
from web.request.thickness import thickness_figure

GLASSES: dict[str, str] = {
    name: f"{name} glass, generic" if not name.isdigit() else f"expansion {name}, generic" for name in FAMILIES
}
"""What a glass is called on the page; every built-in one is a generic family."""
MOST_TYPED_MM = THICKEST_MM / 2
"""The thickest piece that a form takes [mm]: uneven work counts twice its thickness. [derived: half of
THICKEST_MM]"""


@dataclass(frozen=True)
class Choices:
    """What the fields offer."""

    pieces: Sequence[Piece]
    plans: Sequence[StoredPlan]
    glasses: dict[str, str]


def choices(kept_plan_id: int | None = None) -> Choices:
    """Return what there is to choose from: the latest plans, and the one a firing was fired by."""
    offered = plans.plans(database())
    if kept_plan_id is not None and all(p.plan_id != kept_plan_id for p in offered):
        older = plans.plan(database(), kept_plan_id)
        offered += [] if older is None else [older]
    return Choices(pieces.pieces(database()), offered, GLASSES)


def read_load(form: Form, offered: Choices) -> dict[str, Any]:
    """Return the payload of a start or a naming; what can't be used is noted in ``form.wrong``.

    Glass and thickness left open come from the chosen pieces: the thickest one rules.
    """
    piece_ids = form.ids("piece", {p.piece_id for p in offered.pieces})
    chosen = [p for p in offered.pieces if p.piece_id in piece_ids]
    plan_ids = form.ids("plan", {p.plan_id for p in offered.plans})
    plan = next((p for p in offered.plans if p.plan_id in plan_ids), None)
    glass = form["glass"]
    if not glass:
        glass = chosen[0].glass if chosen else DEFAULT_GLASS
    elif glass not in offered.glasses:
        form.wrong["glass"] = "Choose one of the list."
    thickness = form.thickness("thickness", THINNEST_MM, MOST_TYPED_MM, settings().config.thickness_unit)
    if thickness is None:
        thickness = max((p.thickness_mm for p in chosen), default=DEFAULT_THICKNESS_MM)
    glasses = {p.glass for p in chosen}
    if len(glasses) > 1 and not form["glass"]:
        form.wrong["glass"] = "These pieces are of different glasses. Choose the one to watch by."
    title = form.line("title") or ", ".join(p.name for p in chosen)[:120] or (plan.title if plan else "")
    return {
        "title": title or "A firing", "piece_ids": piece_ids, "plan_id": plan.plan_id if plan else None,
        "glass": glass, "thickness_mm": thickness, "faces": int(form.choice("faces", ("1", "2"), "1")),
    }


def again(firing: Firing, *, plan_id: int | None = None) -> dict[str, object]:
    """Return the fields of the start's form as a firing had them; ``plan_id`` chooses another version of its plan."""
    chosen = plan_id if plan_id is not None else firing.plan_id
    return {
        "title": firing.title, "piece": list(firing.piece_ids), "plan": "" if chosen is None else chosen,
        "thickness": thickness_figure(firing.thickness_mm, settings().config.thickness_unit), "faces": firing.faces,
        "glass": firing.glass if firing.glass in GLASSES else "",
    }
