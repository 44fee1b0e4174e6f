"""The documents that come with Lehrling, to be read on the page; and the links to them in its sentences."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from itertools import groupby
from pathlib import Path

from flask import Blueprint, Response, abort, render_template, send_file, url_for
from markupsafe import Markup

from daemon.installed import documents, typed_in
from web.request.context import settings

BLUEPRINT = Blueprint("documents", __name__)

_NAMED = re.compile(r"\bdocs/([a-z]+\.md)")
_LINK = re.compile(r"(!?)\[([^\]]+)\]\(([^)\s]+)\)")
_MARKS = re.compile(r"`([^`]+)`|\*\*([^*]+)\*\*|\*([^*\s][^*]*)\*")
_CONTENTS = re.compile(r"- (\[[^\]]+\]\(#[^)]+\))")
"""A line of a list of contents: a point that is a link to a heading, and nothing else."""
_BAR, _RULE = re.compile(r"(?<!\\)\|"), re.compile(r"[|:\s-]+")
"""What parts the cells of a row, and the row between a table's head and its body."""


@dataclass(frozen=True, slots=True)
class Block:
    """A part of a document: ``h2``, ``h3``, ``p``, ``li``, ``pre``, ``table`` or ``contents``, and what it holds."""

    kind: str
    text: Markup
    anchor: str = ""
    rows: tuple[tuple[Markup, ...], ...] = ()
    """Of a table; the first one heads the columns. Of a list of contents, each with one link."""


@BLUEPRINT.get("/documents/<name>")
def show(name: str) -> str | Response:
    """Show a document, or one of its drawings."""
    drawing = _drawing(name)
    if drawing is not None:
        return send_file(drawing, mimetype="image/svg+xml")
    path = _path(name)
    if path is None:
        abort(404, "There is no such document on this computer.")
    blocks = list(read_document(path.read_text(encoding="utf-8")))
    return render_template("document.html", name=name, title=blocks[0].text if blocks else name, blocks=blocks[1:],
                           lies=path)


def _path(name: str) -> Path | None:
    """Return where a document lies; None where there is none of that name."""
    folder = documents()
    return next((path for path in sorted(folder.glob("*.md")) if path.name == name), None) if folder else None


def documents_block(name: str, heading: str) -> tuple[tuple[Markup, ...], ...]:
    """Return the rows of the table in a document whose first column is headed so; none where there is none."""
    path = _path(name)
    blocks = () if path is None else read_document(path.read_text(encoding="utf-8"))
    return next((block.rows[1:] for block in blocks if block.rows and str(block.rows[0][0]) == heading), ())


def _drawing(name: str) -> Path | None:
    """Return where a drawing of the documents lies; None where there is none of that name."""
    folder = documents()
    return next((path for path in sorted(folder.glob("*.svg")) if path.name == name), None) if folder else None


def here(sentence: str) -> Markup:
    """Return a sentence as this page says it: documents as links, and commands as they have to be typed here."""
    said = escape(typed_in(sentence, settings().data_dir))
    return Markup(_NAMED.sub(lambda found: _document_link(found[1], found[0]), said))


def _document_link(name: str, words: str) -> str:
    """Return words as a link to a document; the words alone where it is not on this computer."""
    return words if _path(name) is None else f'<a href="{url_for("documents.show", name=name)}">{words}</a>'


def read_document(text: str) -> Iterator[Block]:
    """Yield the parts of a document: headings, paragraphs, points, and what keeps its lines (tables, commands)."""
    for kind, lines in groupby(_with_kinds(text), key=lambda line: line[1]):
        whole = [line for line, _ in lines]
        if kind == "pre":
            yield Block("pre", Markup(escape("\n".join(line for line in whole if not line.startswith("```")))))
        elif kind == "table":
            yield Block("table", Markup(), rows=tuple(
                tuple(_marked(cell.strip()) for cell in _BAR.split(line.strip())[1:-1])
                for line in whole if not _RULE.fullmatch(line)))
        elif kind:
            yield from _blocks_of(whole)


def _with_kinds(text: str) -> Iterator[tuple[str, str]]:
    """Yield the lines, each with ``pre`` in a fence, ``table`` in a table, ``said`` elsewhere.

    A blank line and a remark, which is not for the reader, have none.
    """
    inside = False
    for line in text.splitlines():
        fence = line.startswith("```")
        is_said = line.strip() and not line.startswith("<!--")
        yield line, "pre" if inside or fence else "table" if line.startswith("|") else "said" if is_said else ""
        inside = inside != fence


def _blocks_of(lines: list[str]) -> Iterator[Block]:
    """Yield the parts of lines without a blank one between them."""
    links = [_CONTENTS.fullmatch(line) for line in lines]
    if all(links):
        yield Block("contents", Markup(), rows=tuple((_marked(link[1]),) for link in links if link))
        return
    held: list[str] = []
    kind = "p"
    for line in lines:
        heading = re.fullmatch(r"(#+) (.+)", line)
        point = re.match(r"(?:[-*]|\d+\.) ", line)
        if (heading or point) and held:
            yield Block(kind, _marked(" ".join(held)))
            held = []
        if heading:
            yield Block("h2" if len(heading[1]) <= 2 else "h3", _marked(heading[2]), anchor_of(heading[2]))
            kind = "p"
        else:
            kind = "li" if point else kind
            held.append(line[point.end():] if point else line.strip())
    if held:
        yield Block(kind, _marked(" ".join(held)))


def anchor_of(heading: str) -> str:
    """Return the name by which other documents link to a heading."""
    return re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-")


def _marked(text: str) -> Markup:
    """Return text with its links, commands and weight, and the page's apostrophe outside commands."""
    said = _LINK.sub(_linked, escape(text.replace("'", "’")))
    return Markup(_MARKS.sub(_weighted, said))


def _weighted(found: re.Match[str]) -> str:
    """Return a command, strong or slanted words as the page shows them."""
    tag, words = next((tag, words) for tag, words in zip(("code", "b", "i"), found.groups(), strict=True) if words)
    return f"<{tag}>{words.replace('’', '&#39;') if tag == 'code' else words}</{tag}>"


def _linked(found: re.Match[str]) -> str:
    """Return a link within the documents; of another its words and address; a drawing, or what it shows."""
    is_picture, words, to = found.groups()
    if is_picture:
        if _drawing(to) is not None:
            address = url_for("documents.show", name=to)
            return f'<a href="{address}"><img src="{address}" alt="{words}"></a>'  # alone it can be zoomed
        return f"(A drawing shows: {words}.)"
    name, _, anchor = to.partition("#")
    if not name:
        return f'<a href="#{anchor}">{words}</a>'
    if _path(name) is not None:
        return f'<a href="{url_for("documents.show", name=name)}{"#" if anchor else ""}{anchor}">{words}</a>'
    return f"{words} ({to})" if to.startswith("http") else words
