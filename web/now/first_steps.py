"""What to do first, in order, before there is any firing; what is done already says so."""

from __future__ import annotations

from dataclasses import dataclass

from flask import url_for

from daemon.store import pieces, plans
from web.kiln.woken_by import wakers
from web.request.context import daemon_state, database, settings
from web.security import passcode


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what, whether it is done, what to know, and where it is done."""

    title: str
    done: bool
    words: str
    address: str = ""
    link: str = ""


def first_steps() -> tuple[Step, ...]:
    """Return the steps for a studio that has fired nothing yet."""
    mine, said = settings(), daemon_state()
    heard = said is not None and not said.stale
    zone = getattr(mine.zone, "key", None) or "the computer’s own zone"
    bench = said is not None and said.number("speed") not in (None, 1.0)
    return (
        Step("A passcode", not mine.open_house and passcode.kept_hash(mine.passcode_path) is not None,
             "Whoever knows it may start and end firings and answer alerts."
             if not mine.open_house else
             "This page is open, for trying it. A real one asks for a passcode: start lehrling web without --open."),
        Step("Kiln, thermocouple, units and time zone", mine.config.file is not None,
             f"Here: {mine.kiln}, °{mine.unit}, {zone}." if heard else
             "Nothing is heard from the daemon yet. It reads the thermocouple; docs/install.md tells how.",
             address=url_for("settings_form.show"), link="Set up"),
        Step("Whom it wakes", any(waker.sure for waker in wakers()),
             "Add your phone, send yourself a trial, and hear it from your bed with the door shut.",
             address=url_for("notifications.show"), link="How it reaches you"),
        Step("A night rehearsed, before real glass", bench,
             "A simulated kiln, the real watch and page: be woken once while nothing can break.",
             address=url_for("rehearsal.show"), link="Rehearse a night"),
        Step("A plan", bool(plans.plans(database())), "As it stands on your paper: rate, target, hold.",
             address=url_for("plan_writing.new"), link="Write a plan"),
        Step("A piece", bool(pieces.pieces(database())), "What it is, its glass, how thick at its thickest.",
             address=url_for("pieces.new"), link="Add a piece"),
        Step("The first firing", False,
             "Fire something you can lose. Put it in, start the kiln’s own programme, and start the watch here.",
             address=url_for("start_firing.show"), link="Start a firing"),
    )
