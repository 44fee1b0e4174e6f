"""What was written down of compared firings, fact by fact: plan, pieces, layers, alerts, notes; what is the same."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from flask import url_for

from daemon.firing.events import Rank
from daemon.store import found_parts, notes, outcomes, pieces
from daemon.store.firings import Firing
from daemon.store.outcomes import Outcome
from daemon.store.pieces import Piece
from daemon.store.plans import StoredPlan
from web import words
from web.drawing.trace_model import kind_words
from web.firings.log import SAID
from web.firings.record import Record
from web.pieces.page import COLOUR_WORDS
from web.plans.plan_words import plan_words
from web.request.context import database, settings
from web.request.load_form import GLASSES
from web.request.thickness import thickness_words


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a cell; ``href`` makes it a link."""

    text: str
    href: str = ""


@dataclass(frozen=True, slots=True)
class WrittenRow:
    """One fact of all firings, a cell each; a cell is several lines."""

    name: str
    cells: tuple[tuple[Line, ...], ...]
    is_summed_up: bool = True
    """Whether the first sentences name it where it is not the same: a fact that may have to do with the outcome."""

    @property
    def is_same(self) -> bool:
        """Return whether all firings have the same words there."""
        first = [line.text for line in self.cells[0]]
        return all([line.text for line in cell] == first for cell in self.cells)


@dataclass(frozen=True)
class Load:
    """What one firing had in it, and how that came out."""

    record: Record
    pieces: Sequence[Piece]
    outcomes: Sequence[tuple[str, Outcome]]
    """With the name of the piece; empty for the whole load."""

    @property
    def firing(self) -> Firing:
        """Return the firing itself."""
        return self.record.firing

    @property
    def outcome_words(self) -> tuple[str, ...]:
        """Return the fixed words that its pieces came out with, each once."""
        return tuple(dict.fromkeys(word for _, outcome in self.outcomes for word in outcome.words))


def load_of(record: Record) -> Load:
    """Return a firing's load from the store; what was said of the pieces goes before what was said of all of it."""
    db, number = database(), record.firing.firing_id
    inside = pieces.of_firing(db, number)
    came = outcomes.of_firing(db, number)
    said = [(piece.name, came[piece.piece_id]) for piece in inside if piece.piece_id in came]
    whole = outcomes.of_load(db, number)
    return Load(record, inside, said or ([] if whole is None else [("", whole)]))


def came_out_row(loads: Sequence[Load]) -> WrittenRow:
    """Return how the pieces of each firing came out, with place and note."""
    return WrittenRow("Came out", tuple(_came_out(load) for load in loads))


def load_rows(loads: Sequence[Load]) -> tuple[WrittenRow, ...]:
    """Return what was fired and by which plan; a fact that was written of no firing is left out."""
    unit_mm = settings().config.thickness_unit
    plans = _plan_cells(loads)
    return _filled([
        WrittenRow("Plan", plans),
        WrittenRow("Pieces", tuple(
            tuple(Line(piece.name, url_for("piece.show", piece_id=piece.piece_id)) for piece in load.pieces)
            for load in loads), is_summed_up=False),
        WrittenRow("Thickness", tuple((Line(thickness_words(load.firing.thickness_mm, unit_mm)),) for load in loads)),
        WrittenRow("Glass", tuple((Line(words.capital(GLASSES.get(load.firing.glass, "own glass"))),)
                                  for load in loads)),
        WrittenRow("Layers", _of_pieces(loads, lambda piece: piece.layers)),
        WrittenRow("Separator", _of_pieces(loads, lambda piece: piece.separator)),
        WrittenRow("Colour on it", _of_pieces(
            loads, lambda piece: COLOUR_WORDS.get(piece.colour, piece.colour) if piece.colour else "")),
        WrittenRow("Cools from", tuple((Line("one face" if load.firing.faces == 1 else "two faces"),)
                                       for load in loads)),
    ])


def night_rows(loads: Sequence[Load]) -> tuple[WrittenRow, ...]:
    """Return what Lehrling reported, what the maker said they did, and the notes."""
    return _filled([
        WrittenRow("Lehrling reported", tuple(_reported(load) for load in loads), is_summed_up=False),
        WrittenRow("You did", tuple(_did(load) for load in loads), is_summed_up=False),
        WrittenRow("Notes", tuple(
            tuple(Line(note.text) for note in notes.notes(database(), load.firing.firing_id)) for load in loads),
            is_summed_up=False),
    ])


def _filled(rows: Sequence[WrittenRow]) -> tuple[WrittenRow, ...]:
    return tuple(row for row in rows if any(row.cells))


def _came_out(load: Load) -> tuple[Line, ...]:
    lines: list[Line] = []
    for name, outcome in load.outcomes:
        said = ", ".join(outcome.words)
        place = f"{said}, {outcome.place}" if said and outcome.place else said or outcome.place
        texts = [text for text in (place, outcome.note) if text]
        if texts and name and len(load.outcomes) > 1:
            texts[0] = f"{name}: {texts[0]}"
        lines += map(Line, texts)
    return tuple(lines)


def _of_pieces(loads: Sequence[Load], take: Callable[[Piece], str]) -> tuple[tuple[Line, ...], ...]:
    """Return what the pieces of each firing are described by; with their names where several differ."""
    cells = []
    for load in loads:
        said = {piece.name: take(piece) for piece in load.pieces}
        alike = set(said.values())
        cells.append(tuple(Line(text) for text in alike if text) if len(alike) <= 1
                     else tuple(Line(f"{name}: {text or 'not said'}") for name, text in said.items()))
    return tuple(cells)


def _plan_cells(loads: Sequence[Load]) -> tuple[tuple[Line, ...], ...]:
    """Return each firing's plan by name, with those of its steps that differ from the first firing's.

    The first one's steps are those that any of the others differs in. Where all have the same steps, whatever their
    versions are called, it is the same plan.
    """
    unit = settings().unit
    steps = [plan_words(load.record.plan.parsed(), unit) if load.record.plan is not None else () for load in loads]
    first = steps[0]
    if all(others == first for others in steps):
        return ((_plan_name(loads[0].record.plan),),) * len(loads)
    told = [[line for line in first if any(others and line not in others for others in steps[1:])]]
    told += [[line for line in others if line not in first] for others in steps[1:]]
    return tuple((_plan_name(load.record.plan), *(Line(words.bound(line)) for line in lines),
                  *_rest(number, lines, steps))
                 for number, (load, lines) in enumerate(zip(loads, told, strict=True)))


def _rest(number: int, told: Sequence[str], steps: Sequence[Sequence[str]]) -> list[Line]:
    """Return what is said of the steps that a cell leaves out."""
    first, here = steps[0], steps[number]
    if not number or not first or not here or (len(told) == len(here) and len(here) >= len(first)):
        return []
    steps_here = f"{len(here)} step{'' if len(here) == 1 else 's'}"
    count = [Line(f"{steps_here}; firing A has {len(first)}.")] if len(here) != len(first) else []
    rest = "The other steps as in firing A." if told else "The same steps as firing A." if not count else (
        "They are the same as there.")
    return [*count, *([Line(rest)] if len(told) < len(here) else [])]


def _plan_name(plan: StoredPlan | None) -> Line:
    if plan is None:
        return Line("No plan")
    version = f", version {plan.version}" if plan.version > 1 else ""
    return Line(plan.title + version, url_for("plans.show", plan_id=plan.plan_id))


def _reported(load: Load) -> tuple[Line, ...]:
    """Return the kinds of a firing's alerts that were more than noted, the first one first, each once."""
    said = [f"{words.capital(words.RANKS[alert.rank.value])}: {kind_words(alert.kind)}"
            for alert in load.record.alerts if alert.under is None and alert.rank is not Rank.LOG]
    return tuple(Line(text) for text in dict.fromkeys(said))


def _did(load: Load) -> tuple[Line, ...]:
    said = found_parts.said(database(), load.firing.firing_id)
    return tuple(Line(words.bound(f"{words.clock(load.record.starts, one.t_s)} {SAID[one.what]}"))
                 for one in said if one.what in SAID)
