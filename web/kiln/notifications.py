"""How Lehrling reaches its owner: channels with what became of their last message, a test, what is told at all."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from flask import Blueprint, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.errors import BadInput
from daemon.firing.durations import duration
from daemon.firing.events import Rank
from daemon.installed import started
from daemon.notify import reached
from daemon.notify.alert_messages import Channel
from daemon.notify.milestone_choice import as_chosen, choose
from daemon.notify.other_messages import LOUDNESS, MILESTONES, Post, of_test
from daemon.notify.sends_nothing import WORDS, sends_nothing
from daemon.notify.trouble import Ailing
from daemon.store import outbox
from daemon.store.database import NoDatabase
from daemon.store.outbox import Fate
from web import words
from web.kiln import settings_form
from web.request.context import daemon_state, database, settings
from web.request.form import Form
from web.security import access
from web.times import date_words

BLUEPRINT = Blueprint("notifications", __name__)
WAITS = "waits."
"""What is said of a message that has just been written."""
_SOON_S = 20.0
"""A test that is not sent after so long is stuck [s]. [chosen: the sending part looks every second, and a channel may
take ten]"""
_TESTS_SHOWN = 10
"""Tests whose outcome one page shows at most. [chosen: more than anybody has channels]"""


class Way(NamedTuple):
    """One channel as the page shows it."""

    name: str
    told: str
    """What it is told of."""
    last: str
    """What became of its last message."""
    troubled: bool
    heard: str = ""
    """What the owner said of the last trial."""


RINGS = {"both": "everything", "wake": "only what gets you up"}
LATEST_AFTER_MIN = 240
"""The longest that a second person is spared [min]. [derived: what the settings take]"""


@BLUEPRINT.get("/reach")
def show() -> str:
    """Show every way to the owner."""
    return page(Form({"rings": "both", **_pins(settings().config.sounder)}))


def page(form: Form) -> str:
    """Return the page, with the forms of a new way and of the sounder as they were typed."""
    config = settings().config
    said: Mapping[str, reached.Answer] = {}
    try:
        said = reached.answers(database())
        ways = [_way(channel, outbox.last_fate(database(), channel.name), said.get(channel.name))
                for channel in config.channels]
    except sqlite3.Error:
        ways = [_way(channel, None, None) for channel in config.channels]
    post = _post()
    quiet = config.quiet_hours
    return render_template(
        "notifications.html", ways=ways, tested=_tested(), may_change=access.may_change(settings()),
        milestones=[(name, said, post.loudness(name)) for name, (said, _) in MILESTONES.items()], loudness=_LOUDNESS,
        quiet=f"{quiet[0]:%H:%M} to {quiet[1]:%H:%M}" if quiet else "",
        awake=f"{config.awake_at:%H:%M}" if config.awake_at else "", alive=config.alive, sounder=config.sounder,
        trial=_trial(said.get(reached.SOUNDER)), sounded=request.args.get("sounded", ""),
        sends_nothing=WORDS if sends_nothing(settings().data_dir) else "",
        unheard=request.args.get("unheard", ""), trouble=_trouble(Ailing.DELIVERY),
        sounder_trouble=_trouble(Ailing.SOUNDER), form=form, rings=RINGS, no=request.args.get("no", ""),
        kept=_KEPT.get(request.args.get("kept", ""), ""), steps=config.channels and not _tested(),
    )


_KEPT = {"yes": "Saved.", "later": "Saved. The watch does not run just now; it works with it from its next start on.",
         "gone": "Taken out.", "none": "There was none. Nothing was changed.",
         "unopened": "Saved. But the watch could not open the sounder, so it will not wake you. Why stands below.",
         "unknown": "Saved. Whether the watch can open the sounder is not known yet. Sound it below.",
         "untried": "Saved. The watch does not run just now, so the sounder was not tried. Sound it once the watch "
                    "runs."}


@BLUEPRINT.post("/reach/add")
def add() -> Response | tuple[str, int]:
    """Add a way to the owner, or change the address of one."""
    form = Form(request.form)
    name = form.line("name", asked="Give it a name, such as phone.")
    address = form["address"].strip()
    if not address:
        form.wrong["address"] = "Write the address."
    rings = form.choice("rings", RINGS, "both")
    after = form.number("after_min", 0, LATEST_AFTER_MIN, "min")
    if not form.wrong:
        changes: dict[str, str | None] = {
            f"channel.{name}.address": address, f"channel.{name}.after_min": f"{after:.0f}" if after else None,
            f"channel.{name}.ranks": "wake" if rings == "wake" or after else None}
        try:
            heard = settings_form.ask(changes)
            return redirect(url_for("notifications.show", kept="yes" if heard else "later"), code=303)
        except BadInput as err:
            form.wrong["address"] = err.text
    form.typed["address"] = ""  # a secret is not shown again
    return page(form), 400


@BLUEPRINT.post("/reach/remove")
def remove() -> Response | tuple[str, int]:
    """Take a way to the owner out, with its address."""
    name = _channel(request.form.get("channel", "")).name
    try:
        settings_form.ask({f"channel.{name}": None})
    except BadInput as err:
        return render_template("message.html", headline="Not taken out", words=err.text), 409
    return redirect(url_for("notifications.show", kept="gone"), code=303)


@BLUEPRINT.post("/reach/answer")
def answer() -> Response:
    """Keep whether a trial reached the owner."""
    channel, said = _channel(request.form.get("channel", "")), request.form.get("reached", "")
    if said not in ("yes", "no"):
        abort(400, "Say yes or no. Go back and use the buttons.")
    reached.answer(database(), channel.name, reached=said == "yes", now_utc=settings().clock.utc())
    return redirect(url_for("notifications.show", no=channel.name if said == "no" else None), code=303)


def _channel(name: str) -> Channel:
    """Return a channel by its name, or answer 400."""
    found = next((channel for channel in settings().config.channels if channel.name == name), None)
    if found is None:
        abort(400, "There is no such way in the settings. Go back and use the buttons.")
    return found


def _post() -> Post:
    """Return whom to tell what, as chosen here or in the settings."""
    try:
        return as_chosen(settings().config.post, database())
    except (NoDatabase, sqlite3.Error):
        return settings().config.post


@BLUEPRINT.post("/reach/milestones")
def choose_milestones() -> Response:
    """Keep how loudly each piece of good news is told."""
    wanted = {}
    for name in MILESTONES:
        said = request.form.get(name, "")
        word = next((word for word in LOUDNESS if word == said), None)
        if word is None:
            abort(400, "That is no way to be told. Go back and choose one of the list.")
        wanted[name] = word
    choose(database(), wanted)
    return redirect(url_for("notifications.show", _anchor="told"), code=303)


@BLUEPRINT.post("/reach/test")
def test() -> Response:
    """Send a test through one channel, or all, the way a wake goes."""
    wanted = request.form.get("channel", "")
    channels = [channel for channel in settings().config.channels if wanted in ("", channel.name)]
    if not channels:
        abort(400, "There is no such channel in the settings. Go back and use the buttons.")
    numbers = outbox.post(database(), of_test(channels), settings().clock.utc())
    return redirect(url_for("notifications.show", tested=",".join(map(str, numbers)), _anchor="tested"), code=303)


_LOUDNESS = {"no": "not told", "quiet": "a quiet message", "ring": "rings"}


def _way(channel: Channel, last: Fate | None, said: reached.Answer | None) -> Way:
    """Return a channel as shown: what it is told, and what became of its last message."""
    told = " and ".join(
        f"“{words.capital(words.RANKS[rank.value])}”" for rank in (Rank.WAKE, Rank.LOOK) if rank in channel.ranks)
    if channel.after_min:
        told = f"“Get up” that nobody has answered for {channel.after_min:.0f} min"
    if last is None:
        return Way(channel.name, told, "Nothing was sent yet. Send a trial.", False, _heard(said))
    at = last.created_utc.astimezone(settings().zone)
    return Way(channel.name, told, f"Last, {at:%d.%m. %H:%M}: {_fate(last)}", last.sent_utc is None, _heard(said))


def _heard(said: reached.Answer | None) -> str:
    """Return what the owner said of the last trial, as a sentence."""
    if said is None:
        return "Nobody has said yet that one came."
    day = date_words(said.utc.astimezone(settings().zone))
    return f"A trial reached you on {day}." if said.reached else f"The trial of {day} did not reach you."


def _fate(fate: Fate) -> str:
    """Return what became of a message, in words."""
    if fate.sent_utc is not None:
        return "taken."
    if fate.error:
        return f"not taken ({fate.error.rstrip('.')})."
    waited_s = (settings().clock.utc() - fate.created_utc).total_seconds()
    if waited_s < _SOON_S:
        return WAITS
    if sends_nothing(settings().data_dir):
        return "not sent."
    return (f"still not sent, after {duration(waited_s)}. The part that sends does not run, so no message reaches "
            "you. Until one does, keep the page Now open beside you, with its sound on. Start that part, or let "
            f"whoever set this up do it: {started('deliver', settings().data_dir)}. Then send another trial.")


def _tested() -> Sequence[tuple[str, str, bool]]:
    """Return channel, outcome, and whether it was sent, of the test that the page was led here by."""
    typed = request.args.get("tested", "").split(",")
    numbers = [int(word) for word in typed if word.isascii() and word.isdigit() and len(word) < 12][:_TESTS_SHOWN]
    if not numbers:
        return ()
    return [(fate.channel, _fate(fate), fate.sent_utc is not None) for fate in outbox.fates(database(), numbers)]


def _trouble(part: Ailing) -> list[str]:
    """Return the daemon's sentences about messages that do not get through, or about the sounder."""
    said = daemon_state()
    return [] if said is None else [one.text for one in said.troubles if one.ailing is part]


def _pins(sounder: Mapping[str, Any] | None) -> dict[str, str]:
    """Return the form of the sounder as it is set."""
    given = sounder or {}
    return {"pin": str(given.get("pin", "")), "lamp_pin": str(given.get("lamp_pin", "")),
            "active_low": "yes" if given.get("active_low") is True else ""}


def _trial(said: reached.Answer | None) -> str:
    """Return what the owner said of the last time the sounder was tried, as a sentence."""
    if said is None:
        return "Nobody has said yet that it was heard."
    day = date_words(said.utc.astimezone(settings().zone))
    return f"It was heard on {day}." if said.reached else f"It was not heard on {day}."
