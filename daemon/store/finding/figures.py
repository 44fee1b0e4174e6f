"""Figures of many firings at once, as they were judged; nothing is judged here."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlite_utils

from daemon.store.firings import SELECT, Firing, as_firing
from daemon.store.outcomes import Word
from daemon.store.stamps import moment


@dataclass(frozen=True, slots=True)
class Fired:
    """A plan's title, how many firings went by it, and the numbers of its versions."""

    title: str
    firings: int
    plan_ids: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class FiguresOf:
    """What a firing was judged to be; None where it was not judged, or this was not to be known."""

    peak_c: float | None
    above_s: Mapping[str, float | None]
    """How long it was above each temperature of ``daemon.glass.exposure.ABOVE_C`` [s], by the temperature in °C."""


@dataclass(frozen=True, slots=True)
class Refired:
    """A firing of pieces that were hazy before it, and whether the haze of all of them cleared."""

    firing_id: int
    title: str
    started_utc: datetime
    cleared: bool


def fired(db: sqlite_utils.Database, kiln_id: int) -> list[Fired]:
    """Return the plans by which firings of a kiln have ended, the one fired most first; plans made on the way not."""
    found: dict[str, list[tuple[int, int, str]]] = {}
    for title, plan_id, count, last in db.execute(
            "SELECT title, plan_id, count, last FROM plan JOIN (SELECT plan_id, count(*) AS count,"
            " max(started_utc) AS last FROM firing WHERE kiln_id = ? AND ended_s IS NOT NULL AND binned_utc IS NULL"
            " GROUP BY plan_id) AS fired USING (plan_id) WHERE only_for IS NULL", [kiln_id]):
        found.setdefault(title, []).append((plan_id, count, last))
    ranked = sorted(found.items(), reverse=True,
                    key=lambda item: (sum(one[1] for one in item[1]), max(one[2] for one in item[1]), item[0]))
    return [Fired(title, sum(one[1] for one in of), tuple(one[0] for one in of)) for title, of in ranked]


def latest_by(db: sqlite_utils.Database, kiln_id: int, plan_ids: Sequence[int], limit: int) -> list[Firing]:
    """Return the latest firings of a kiln that ended and went by one of these plans, the latest first."""
    numbers = ", ".join(str(int(number)) for number in plan_ids) or "NULL"
    return [as_firing(row) for row in db.query(
        SELECT + f"WHERE firing_id IN (SELECT firing_id FROM firing WHERE kiln_id = ? AND plan_id IN ({numbers})"
        " AND ended_s IS NOT NULL AND binned_utc IS NULL ORDER BY started_utc DESC, firing_id DESC LIMIT ?)"
        " ORDER BY started_utc DESC, firing_id DESC", [kiln_id, limit])]


def figures_of(db: sqlite_utils.Database, firing_ids: Sequence[int]) -> dict[int, FiguresOf]:
    """Return the figures of each firing's latest judgement, by the firing's number."""
    numbers = ", ".join(str(int(number)) for number in firing_ids) or "NULL"
    return {number: _figures(peak_c, above) for number, peak_c, above in db.execute(
        "SELECT firing_id, CAST(json_extract(told, '$.peak_c') AS DOUBLE PRECISION),"
        " json_extract(told, '$.glass.time_above_s') FROM judgement AS j"
        " WHERE judgement_id = (SELECT max(judgement_id) FROM judgement AS k WHERE k.firing_id = j.firing_id)"
        f" AND firing_id IN ({numbers})")}


def _figures(peak_c: Any, above: str | None) -> FiguresOf:
    return FiguresOf(peak_c if isinstance(peak_c, (int, float)) else None, json.loads(above) if above else {})


@dataclass(slots=True)
class Haze:
    """What is known of the haze of one glass.

    Attributes
    ----------
    glass
        As its pieces name it.
    hazy_pieces
        How many pieces came out with haze, once or more often.
    refired
        The firings of hazy pieces after which "clear" or "haze" was noted, the earliest first.
    silent
        How many firings of hazy pieces are left out, since something else was noted.
    """

    glass: str
    hazy_pieces: int
    refired: list[Refired]
    silent: int


_SAID = """
SELECT piece.glass, l.piece_id, firing.firing_id, firing.title, started_utc, o.piece_id IS NOT NULL AS own, o.words,
    kiln_id
FROM outcome AS o JOIN firing USING (firing_id) JOIN firing_piece AS l USING (firing_id)
JOIN piece ON piece.piece_id = l.piece_id
WHERE (o.piece_id IS NULL OR o.piece_id = l.piece_id) AND binned_utc IS NULL
ORDER BY started_utc, firing.firing_id, l.piece_id, own, outcome_id
"""
"""Each outcome of a piece; of one piece in one firing the last row stands: its own words after the whole load's."""


def haze_by_glass(db: sqlite_utils.Database, kiln_id: int | None) -> list[Haze]:
    """Return what is known of each glass of which a piece came out with haze, that of most such pieces first.

    Firings are those in one kiln; the piece may have become hazy in another. Without a kiln there are none.

    A piece is hazy where its latest outcome has "haze". Its next firing with an outcome, of it or of the whole load,
    cleared that where this has "clear" and not "haze". Where it has neither, that firing is left out. A firing of
    several hazy pieces cleared them where it cleared each.
    """
    standing = {(row[2], row[1]): row for row in db.execute(_SAID)}
    hazy: dict[int, bool] = {}
    found: dict[str, dict[int, Refired]] = {}
    silent: dict[str, set[int]] = {}
    pieces: dict[str, set[int]] = {}
    for glass, piece_id, firing_id, title, started_utc, _, words, fired_in in standing.values():
        said = json.loads(words)
        has_haze, is_clear = Word.HAZE in said, Word.CLEAR in said
        of = found.setdefault(glass, {})
        if fired_in != kiln_id:
            pass
        elif hazy.get(piece_id) and (has_haze or is_clear):
            before = of.get(firing_id)
            of[firing_id] = Refired(firing_id, title, moment(started_utc),
                                    not has_haze and (before is None or before.cleared))
        elif hazy.get(piece_id):
            silent.setdefault(glass, set()).add(firing_id)
        hazy[piece_id] = has_haze
        if has_haze:
            pieces.setdefault(glass, set()).add(piece_id)
    ranked = sorted(pieces, key=lambda glass: (-len(pieces[glass]), glass))
    return [Haze(glass, len(pieces[glass]), list(found[glass].values()),
                 len(silent.get(glass, set()) - found[glass].keys())) for glass in ranked]
