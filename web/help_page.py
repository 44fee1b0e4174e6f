"""Help: what to do when something is wrong, whom to call, and what the words of Lehrling mean.

Nothing stands here by itself: cautions come from daemon.firing.speaker, what each alert means from the documents.
"""

from __future__ import annotations

from flask import Blueprint, render_template
from markupsafe import Markup

from daemon.firing.alerts.registry import kind_title
from daemon.firing.events import Rank
from daemon.firing.speaker import ELECTRIC, ISOLATOR
from daemon.firing.units import NO_SAFETY_DEVICE
from web import words
from web.documents import documents_block
from web.request.context import settings
from web.security import access

BLUEPRINT = Blueprint("help", __name__)


@BLUEPRINT.get("/help")
def show() -> str:
    """Show the page."""
    return render_template(
        "help.html", isolator=words.bound(ISOLATOR), caution=words.bound(ELECTRIC), no_safety_device=NO_SAFETY_DEVICE,
        whom_to_call=settings().config.whom_to_call, may_change=access.may_change(settings()),
        ranks=_ranks(), kinds=_kinds())


def _ranks() -> list[tuple[str, Markup]]:
    """Return the ranks as people read them, each with what the documents say of it."""
    known = {rank.value for rank in Rank}
    return [(words.RANKS[str(name)], means) for name, _, means in documents_block("alerts.md", "Rank")
            if str(name) in known]


def _kinds() -> list[tuple[str, Markup]]:
    """Return the kinds of alert as people read them, each with when the documents say that it is raised."""
    return [(kind_title(name.striptags()), raised) for name, raised, _ in documents_block("alerts.md", "Kind")]
