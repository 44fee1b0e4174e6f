"""The full-text index of what was written, as SQL; never changed: a later migration changes it.

One table of FTS5 holds a row for each row that has words. Its ``rowid`` says which: the number of that row times
KINDS_OF_ROWS, plus the kind's place in SOURCES. Triggers keep it: whoever writes a note writes its index in the same
transaction, also a program that knows nothing of the index. A copy of the record has its index, and a note that is
rolled back is not found.

The index is made here and not by ``enable_fts`` of sqlite-utils, for three reasons. That makes an index for each
table, and whoever searches everything asks five. It indexes columns as they are, and an outcome's fixed words are
JSON. And it calls ``executescript``, which commits: a migration that fails half-way could not be rolled back.

An index that keeps no text of its own is some megabytes smaller and cannot show the words around what was found. The
tokenizer "trigram" finds the middle of words; it needs three letters, and tells "crème" from "creme".

A plan's TOML is not indexed: who looks for "rate" would find every plan. The words of its steps lie in
``plan.words``.
"""

from __future__ import annotations

from typing import NamedTuple


class Source(NamedTuple):
    """A table whose rows have words.

    Attributes
    ----------
    table, key
        Its name, and its column with the row's number.
    columns
        What the words are made of; only a change of these changes the index.
    words
        SQL for the words of one row; ``{}`` stands for the row.
    """

    table: str
    key: str
    columns: tuple[str, ...]
    words: str


def _lines(*columns: str) -> str:
    return " || char(10) || ".join(f"{{0}}.{column}" for column in columns)


SOURCES = (
    Source("firing", "firing_id", ("title",), _lines("title")),
    Source("piece", "piece_id", ("name", "layers", "separator", "note"),
           _lines("name", "layers", "separator", "note")),
    Source("plan", "plan_id", ("title", "words"), _lines("title", "words")),
    Source("note", "note_id", ("text",), _lines("text")),
    Source("outcome", "outcome_id", ("words", "place", "note"),
           "CASE WHEN json_valid({0}.words) THEN (SELECT coalesce(group_concat(value, ', '), '')"
           " FROM json_each({0}.words)) ELSE '' END || char(10) || "
           + _lines("place", "note")),
)
"""The tables, each with the number of its kind as its place."""
KINDS_OF_ROWS = len(SOURCES)
"""[derived: the number of SOURCES]"""

CREATE = """
CREATE VIRTUAL TABLE written USING fts5(
    words, tokenize = 'unicode61 remove_diacritics 2', prefix = '1 2 3')
"""


def _row(kind: int, name: str) -> str:
    """Return SQL for the number in the index and the words of a row of a kind; ``name`` stands for the row."""
    of = SOURCES[kind]
    return f"SELECT {name}.{of.key} * {KINDS_OF_ROWS} + {kind} AS rowid, {of.words.format(name)} AS words"


def _triggers(kind: int) -> list[str]:
    of = SOURCES[kind]
    forget = f"DELETE FROM written WHERE rowid = old.{of.key} * {KINDS_OF_ROWS} + {kind}"
    take = f"INSERT INTO written (rowid, words) {_row(kind, 'new')}"
    changed = ", ".join((of.key, *of.columns))
    head = f"CREATE TRIGGER {of.table}_words_"
    return [f"{head}added AFTER INSERT ON {of.table} BEGIN {take}; END",
            f"{head}changed AFTER UPDATE OF {changed} ON {of.table} BEGIN {forget}; {take}; END",
            f"{head}removed AFTER DELETE ON {of.table} BEGIN {forget}; END"]


WORDS = " UNION ALL ".join(f"{_row(kind, of.table)} FROM {of.table}" for kind, of in enumerate(SOURCES))
"""Selects what the index holds when it is whole."""
FILL = f"INSERT INTO written (rowid, words) {WORDS}"
"""Indexes all that is there, into an empty index."""
STATEMENTS = (CREATE, *(trigger for kind in range(KINDS_OF_ROWS) for trigger in _triggers(kind)), FILL)
"""Statements that make the index."""
