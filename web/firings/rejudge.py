"""A kept firing judged again by today's rules, beside the judgement of that night."""

from __future__ import annotations

from flask import Blueprint, render_template

from daemon.firing.events import Alert
from daemon.firing.verdict.stored_answers import stored_answers
from daemon.service.state_reader import alert_of
from daemon.store import judgements
from daemon.store.database import FILE_NAME
from web import words
from web.drawing.trace_model import kind_words
from web.firings.record import Record, peak_c, read_whole
from web.firings.rejudge_process import judged_today
from web.firings.verdict import VerdictLine, lines_of, verdict_of
from web.request.context import database, settings
from web.request.lookup import find

BLUEPRINT = Blueprint("rejudge", __name__)


@BLUEPRINT.get("/firings/<int:firing_id>/again")
def show(firing_id: int) -> str | tuple[str, int]:
    """Show both judgements side by side."""
    firing = find(firing_id)
    record = read_whole(firing)
    today = judged_today(settings().data_dir / FILE_NAME, firing_id, settings().unit)
    if today is None:
        return render_template("message.html", headline="Not judged again just now",
                               words="Another firing is being judged, or it took too long. The firing’s own page has "
                               "what was told that night. Wait a minute and try it once more."), 503
    kept = judgements.judgement(database(), firing_id)
    night = verdict_of(record, kept, peak_c(firing, kept))
    return render_template(
        "rejudge.html", firing=firing, rows=pairs(night.lines, lines_of(stored_answers(today.get("verdict")))),
        night=[_told(a, record) for a in record.alerts if a.under is None],
        today=[_told(a, record) for a in map(alert_of, today.get("alerts", [])) if a is not None and a.under is None],
        judged=night.judged,
    )


def pairs(night: tuple[VerdictLine, ...],
          today: tuple[VerdictLine, ...]) -> list[tuple[str, VerdictLine | None, VerdictLine | None]]:
    """Return question, answer of the night and answer of today; None where it was not asked."""
    asked = {line.identity: line.question for line in (*today, *night)}
    then, now = ({line.identity: line for line in lines} for lines in (night, today))
    order = dict.fromkeys(line.identity for line in (*night, *today))
    return [(asked[which], then.get(which), now.get(which)) for which in order]


def _told(alert: Alert, record: Record) -> dict[str, str]:
    """Return an alert as a row of the table: when it was told, how loudly, and its kind in words."""
    at_s = alert.woke_s if alert.woke_s is not None else alert.raised_s
    return {"when": words.clock(record.starts, at_s), "rank": alert.rank.value,
            "rank_words": words.RANKS[alert.rank.value], "kind": kind_words(alert.kind)}
