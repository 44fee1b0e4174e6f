"""Finding rows by the words in them: titles, pieces, plans, notes and outcomes, by one full-text index.

What is typed is text: no character of it is an operator. Each word is looked for as the beginning of a word, whatever
its case and its accents. Two kinds are looked for anywhere in the text instead, by reading all of it: what holds no
letter and no figure, such as a quotation mark, and words of scripts that are written without spaces.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import sqlite_utils

from daemon.store.database import transaction
from daemon.store.schema.search_index import FILL, KINDS_OF_ROWS, WORDS

MOST_TERMS = 12
"""Words looked for at once; further ones are left out. [chosen: bounds the work of a request]"""
OPEN, CLOSE = "\x02", "\x03"
"""Around each word that was found, in ``Found.words``; no text that is kept has them."""
_SHOWN_WORDS = 24
"""Words around what was found. [chosen: two lines of a phone]"""
_SHOWN_BEFORE, _SHOWN_AFTER = 60, 100
"""The same where a text has no spaces [characters]. [chosen: two lines of a phone]"""
_UNSPACED = re.compile("[\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff\u2e80-\u9fff\uf900-\ufaff\U00020000-\U0003ffff]")
"""Thai, Lao, Burmese, Khmer, Chinese and Japanese letters. [source: The Unicode Standard, blocks]"""


class Kind(IntEnum):
    """What a row that was found is; the value is its place in SOURCES."""

    FIRING = 0
    PIECE = 1
    PLAN = 2
    NOTE = 3
    OUTCOME = 4


@dataclass(frozen=True, slots=True)
class Found:
    """One row that was found; ``words`` are some of its words, those looked for between OPEN and CLOSE."""

    kind: Kind
    number: int
    """Of the row in its own table."""
    words: str


class Wanted:
    """What is looked for, as the index takes it.

    Parameters
    ----------
    typed
        Anything; words beyond MOST_TERMS are left out.
    """

    def __init__(self, typed: str) -> None:
        terms = list(dict.fromkeys(typed.replace("\x00", " ").split()))[:MOST_TERMS]
        self.terms = tuple(terms)
        self.begun = tuple(term for term in terms if not _is_anywhere(term))
        """Looked for as beginnings of words."""
        self.anywhere = tuple(term for term in terms if _is_anywhere(term))

    def __bool__(self) -> bool:
        """Return whether anything is looked for."""
        return bool(self.terms)

    def condition(self) -> tuple[str, list[str]]:
        """Return what a row of the index must fulfil, as SQL and its parameters: all that is looked for is in it."""
        parts, asked = [], []
        if self.begun:
            parts.append("written MATCH ?")
            asked.append(" AND ".join(_phrase(term) for term in self.begun))
        for term in self.anywhere:
            parts.append(r"written.words LIKE ? ESCAPE '\'")
            asked.append("%" + "".join(f"\\{c}" if c in "\\%_" else c for c in term) + "%")
        return " AND ".join(parts), asked

    def each(self) -> list[Wanted]:
        """Return one for each word, for what may stand in rows that belong together."""
        return [Wanted(term) for term in self.terms]


def _is_anywhere(term: str) -> bool:
    is_word = any(unicodedata.category(c)[0] in "LN" for c in term)
    return not is_word or _UNSPACED.search(term) is not None


def _phrase(term: str) -> str:
    """Return a word in FTS5's own quotes, as the beginning of a word."""
    return '"' + term.replace('"', '""') + '" *'


_LIVE = {
    Kind.FIRING: "JOIN firing ON firing.firing_id = {id} WHERE binned_utc IS NULL",
    Kind.PIECE: "WHERE true",
    Kind.PLAN: "JOIN plan ON plan.plan_id = {id} WHERE only_for IS NULL AND version ="
               " (SELECT max(version) FROM plan AS q WHERE q.title = plan.title)",
    Kind.NOTE: "JOIN note ON note_id = {id} JOIN firing USING (firing_id) WHERE binned_utc IS NULL",
    Kind.OUTCOME: "JOIN outcome AS o ON o.outcome_id = {id} JOIN firing USING (firing_id) WHERE binned_utc IS NULL"
                  " AND o.outcome_id = (SELECT max(outcome_id) FROM outcome AS p WHERE p.firing_id = o.firing_id"
                  " AND p.piece_id IS NOT DISTINCT FROM o.piece_id)",
}
"""Which rows of a kind are shown: nothing of a deleted firing, a plan's latest version, an outcome that stands."""


def found(db: sqlite_utils.Database, wanted: Wanted, kind: Kind, limit: int) -> list[Found]:
    """Return the rows of a kind that hold all that is wanted, the latest first; none where nothing is wanted."""
    if not wanted:
        return []
    condition, asked = wanted.condition()
    number = f"written.rowid / {KINDS_OF_ROWS}"
    shown = f"snippet(written, 0, '{OPEN}', '{CLOSE}', '…', {_SHOWN_WORDS})" if wanted.begun else "written.words"
    rows = db.execute(
        f"SELECT {number}, {shown} FROM written {_LIVE[kind].format(id=number)}"
        f" AND written.rowid % {KINDS_OF_ROWS} = {kind.value} AND {condition} ORDER BY written.rowid DESC LIMIT ?",
        [*asked, limit])
    return [Found(kind, number, _marked(words, wanted)) for number, words in rows]


def _marked(words: str, wanted: Wanted) -> str:
    """Return words in which what is looked for anywhere is marked as well, cut to what stands around it."""
    pattern = "|".join(re.escape(term) for term in wanted.anywhere)
    if not pattern:
        return words
    marked = re.sub(pattern, lambda hit: f"{OPEN}{hit[0]}{CLOSE}", words, flags=re.IGNORECASE)
    if wanted.begun:
        return marked
    first, last = marked.find(OPEN), marked.find(CLOSE)
    begin, end = max(0, first - _SHOWN_BEFORE), max(last, first) + _SHOWN_AFTER
    cut = marked[begin:end]
    if cut.count(OPEN) > cut.count(CLOSE):
        cut = cut[:cut.rfind(OPEN)]
    return ("…" if begin else "") + cut + ("…" if end < len(marked) else "")


def piece_condition(wanted: Wanted) -> tuple[str, list[str]]:
    """Return SQL and its parameters for "the row of ``piece`` holds all that is wanted"."""
    return _numbers(wanted, Kind.PIECE, "piece_id")


def firing_condition(wanted: Wanted) -> tuple[str, list[str]]:
    """Return SQL and its parameters for "a row of ``firing`` and what belongs to it hold all that is wanted".

    To a firing belong its title, its plan's words, its pieces', its notes' and its outcomes'. Each word may stand in
    another of them.
    """
    parts, asked = [], []
    for one in wanted.each():
        condition, typed = one.condition()
        parts.append(
            f"firing.firing_id IN (WITH hit AS MATERIALIZED (SELECT written.rowid % {KINDS_OF_ROWS} AS kind,"
            f" written.rowid / {KINDS_OF_ROWS} AS number FROM written WHERE {condition})"
            f" SELECT number FROM hit WHERE kind = {Kind.FIRING.value}"
            " UNION SELECT l.firing_id FROM hit JOIN firing_piece AS l ON l.piece_id = number"
            f" WHERE kind = {Kind.PIECE.value}"
            " UNION SELECT f.firing_id FROM firing AS f WHERE f.plan_id IN"
            f" (SELECT number FROM hit WHERE kind = {Kind.PLAN.value})"
            f" UNION SELECT n.firing_id FROM hit JOIN note AS n ON n.note_id = number WHERE kind = {Kind.NOTE.value}"
            " UNION SELECT o.firing_id FROM hit JOIN outcome AS o ON o.outcome_id = number"
            f" WHERE kind = {Kind.OUTCOME.value} AND number = (SELECT max(outcome_id) FROM outcome AS p"
            " WHERE p.firing_id = o.firing_id AND p.piece_id IS NOT DISTINCT FROM o.piece_id))")
        asked += typed
    return " AND ".join(parts), asked


def _numbers(wanted: Wanted, kind: Kind, column: str) -> tuple[str, list[str]]:
    condition, asked = wanted.condition()
    return (f"{column} IN (SELECT written.rowid / {KINDS_OF_ROWS} FROM written WHERE {condition}"
            f" AND written.rowid % {KINDS_OF_ROWS} = {kind.value})"), asked


def is_whole(db: sqlite_utils.Database) -> bool:
    """Return whether the index holds the words of each row, and nothing else."""
    kept = "SELECT rowid, words FROM written"
    return not any(
        db.execute(f"SELECT 1 FROM (SELECT * FROM ({one}) EXCEPT SELECT * FROM ({other})) LIMIT 1").fetchone()
        for one, other in ((kept, WORDS), (WORDS, kept)))


def rebuild(db: sqlite_utils.Database) -> None:
    """Make the index again from the tables, in one transaction."""
    with transaction(db):
        db.execute("DELETE FROM written")
        db.execute(FILL)


Pieces = Sequence[tuple[str, bool]]
"""Text in pieces, each with whether it was looked for."""


def plain(words: str) -> Pieces:
    """Return the words of a Found in pieces, each with whether it was looked for."""
    pieces = re.split(f"{OPEN}(.*?){CLOSE}", words, flags=re.DOTALL)
    return [(text, at % 2 == 1) for at, text in enumerate(pieces) if text]
