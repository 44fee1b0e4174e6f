"""What an address names by its number, or a page that says it is not here."""

from __future__ import annotations

from flask import abort, request

from daemon.store import firings, photographs, pieces, plans, readings
from daemon.store.firings import Firing
from daemon.store.judgements import Judgement
from daemon.store.pieces import Piece
from daemon.store.plans import StoredPlan
from web.firings.record import Record, read_record
from web.request.context import database, glance, settings
from web.request.state_file import number

MAX_ID = 2**53


def find(firing_id: int) -> Firing:
    """Return a firing, or answer 404."""
    found = firings.firing(database(), firing_id) if 0 < firing_id < MAX_ID else None
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


def read_whole(firing: Firing, columns: int) -> Record:
    """Return a firing with its trace in about so many columns, and where the plan goes from here if it runs."""
    at_s = None
    if firing.ended_s is None:
        said = glance()
        if said is not None and said.number("firing_id") == firing.firing_id:
            at_s = number(said.table("next"), "at_s")
    return read_record(database(), settings(), firing, next_at_s=at_s, columns=columns)


def peak_c(firing: Firing, judged: Judgement | None) -> float | None:
    """Return a firing's peak [°C]: the highest one-minute median as judged, else its highest kept reading."""
    told = number(judged.told, "peak_c") if judged is not None else None
    return told if told is not None else readings.highest_c(database(), firing.firing_id)


def taken_out() -> int | None:
    """Return the photograph that was just taken out and can be brought back; None where there is none."""
    typed = request.args.get("taken", "")
    if not (typed.isascii() and typed.isdigit() and len(typed) < 12):
        return None
    found = photographs.photograph(database(), int(typed))
    return found.photograph_id if found is not None and found.removed_utc is not None else None
