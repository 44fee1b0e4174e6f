"""What an address names by its number, or a page that says it is not here."""

from __future__ import annotations

from flask import abort, request

from daemon.store import bin, firings, photographs, pieces, plans
from daemon.store.firings import Firing
from daemon.store.pieces import Piece
from daemon.store.plans import StoredPlan
from web.request.context import database

MAX_ID = 2**53
"""No row of the record has a higher number. [chosen: every whole number up to it is exact in JSON readers that use
doubles]"""


def find(firing_id: int) -> Firing:
    """Return a firing, or answer 404."""
    found = firings.firing(database(), firing_id) if 0 < firing_id < MAX_ID else None
    if found is not None and found.emptied_utc is not None:
        abort(404, f"Firing number {firing_id} was deleted over {bin.KEPT_FOR.days} days ago. Nothing of it is kept.")
    if found is None:
        abort(404, f"There is no firing number {firing_id} here. The list of firings has them all.")
    return found


def find_piece(piece_id: int) -> Piece:
    """Return a piece, or answer 404."""
    found = pieces.piece(database(), piece_id) if 0 < piece_id < MAX_ID else None
    if found is None:
        abort(404, f"There is no piece number {piece_id} here. The list of pieces has them all.")
    return found


def find_plan(plan_id: int) -> StoredPlan:
    """Return one version of a plan, or answer 404."""
    found = plans.plan(database(), plan_id) if 0 < plan_id < MAX_ID else None
    if found is None:
        abort(404, f"There is no plan number {plan_id} here. The list of plans has them all.")
    return found


def taken_out() -> int | None:
    """Return the photograph that was just taken out and can be brought back; None where there is none."""
    typed = request.args.get("taken", "")
    if not (typed.isascii() and typed.isdigit() and len(typed) < 12):
        return None
    found = photographs.photograph(database(), int(typed))
    return found.photograph_id if found is not None and found.removed_utc is not None else None
