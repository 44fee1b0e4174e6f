"""What was different between firings, in a few sentences. It went together; nothing is called a cause. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from daemon.firing.units import Units
from daemon.store.outcomes import WORDS, Word
from web import words
from web.compare.figures import Compared, Figure, FigureRow, Topic, difference, span
from web.drawing.overlay_layers import LETTERS

_MOST_SAID, _MOST_LISTED, _MOST_APART = 4, 3, 2
"""So many differences are said of two firings, are listed of more, and set outcomes apart. [chosen: more are not
read]"""
_SAID = {Word.AS_HOPED: "that came out as hoped", Word.CLEAR: "that came out clear", Word.STUCK: "that stuck",
         Word.SLID: "that slid", Word.FADED: "that faded", Word.CRACK: "with a crack",
         Word.UNEVEN_SLUMP: "with an uneven slump"}
"""Fixed words that are not said as ``with haze`` is."""
_MATTERS = {
    Word.HAZE: (Topic.HAZE_RANGE, Topic.PEAK, Topic.TIME_AT_TOP, Topic.ABOVE_HAZE_RANGE),
    Word.CRACK: (Topic.CLIMB, Topic.ANNEAL),
}
"""What is asked about first where a word was said, in this order. [common practice]"""
_ASKED_FIRST = {Word.HAZE: "the haze range and the top", Word.CRACK: "the climb and the anneal"}
"""The same in words."""
NO_CAUSE = "What went together need not be cause and effect. Change one thing at a time."
HAZE_BEGINS = ("Haze begins at the surface (common practice): dirt and ground edges count too, and no probe sees "
               "them.")


@dataclass(frozen=True, slots=True)
class Summary:
    """What is said first."""

    sentences: tuple[str, ...]
    listed: tuple[str, ...]
    """The main differences of three firings and more, a line each."""
    caution: tuple[str, ...]


def summary(found: Sequence[Compared], rows: Sequence[FigureRow], written: Sequence[str], unit: str) -> Summary:
    """Return what was different between firings, called A, B and so on in their order.

    Parameters
    ----------
    found
        Two firings or more; the first is the one that two are told by.
    rows
        Their figures.
    written
        The names of what was written down and is not the same in all: ``plan``, ``layers``.
    unit
        "C" or "F".
    """
    said = [word for word in WORDS if any(word in one.outcome for one in found)]
    telling = sorted((row for row in rows if row.figure.deed is not None and not row.is_same),
                     key=lambda row: _weight(row, said))
    sentences: list[str] = [] if said else [_NOT_SAID]
    listed: list[str] = []
    if len(found) == 2:
        telling = [row for row in telling if row.differ[1]]
        sentences += [*_came_out(found), *_alike(rows, telling, said, unit), _of_two(telling, unit)]
    else:
        apart, used = _set_apart(found, telling, unit)
        sentences += apart or _alike(rows, telling, said, unit)
        listed = [_from_to(row, unit) for row in telling if row.figure not in used][:_MOST_LISTED]
        if not telling:
            sentences.append(_NOTHING)
    if written:
        sentences.append(f"Not the same{'' if len(found) == 2 else ' in all'}: {_and(written)}.")
    caution = (NO_CAUSE, HAZE_BEGINS) if Word.HAZE in said else (NO_CAUSE,)
    return Summary(tuple(map(words.bound, sentences)), tuple(map(words.bound, listed)), caution)


_NOT_SAID = "How they came out was not said yet. Each firing’s page asks for it."
_LESS_LIKELY = "What follows is less likely to have to do with it."
_NOTHING = "No measured difference is large enough to name."


def _weight(row: FigureRow, said: Sequence[Word]) -> int:
    """Return how far back a figure stands, by what the pieces came out with: what is asked about first is 0."""
    topics = [topic for word in _MATTERS if word in said for topic in _MATTERS[word]]
    return next((place for place, topic in enumerate(topics) if topic is row.figure.topic), len(topics))


def _is_asked_first(row: FigureRow, word: Word) -> bool:
    """Return whether a figure is one of those that are asked about first where ``word`` was said."""
    return row.figure.topic in _MATTERS[word]


def _alike(rows: Sequence[FigureRow], telling: Sequence[FigureRow], said: Sequence[Word], unit: str) -> list[str]:
    """Return what is asked about first and is alike in all firings, a sentence for each word that was said.

    Nothing for a word where one of its figures differs: that is then said before the others.
    """
    sentences = []
    for word in (word for word in _MATTERS if word in said):
        asked = sorted((row for row in rows if row.figure.deed is not None and _is_asked_first(row, word)),
                       key=lambda row: _weight(row, [word]))
        if not asked or any(_is_asked_first(row, word) for row in telling):
            continue
        alike = [(row.figure, row.span) for row in asked if row.is_same][:_MOST_SAID]
        if alike:
            sentences.append(f"For {word}, look at {_ASKED_FIRST[word]} first. There the firings are alike: each "
                             f"{_deeds(alike, unit)}.{f' {_LESS_LIKELY}' if telling else ''}")
    return sentences


def _came_out(found: Sequence[Compared]) -> list[str]:
    """Return how two firings came out, in a sentence; nothing where neither was said."""
    one, other = (", ".join(firing.outcome) for firing in found)
    if not one and not other:
        return []
    if one == other:
        return [f"Both came out: {one}."]
    return [f"They came out: firing A {one or 'not said'}; firing B {other or 'not said'}."]


def _of_two(telling: Sequence[FigureRow], unit: str) -> str:
    """Return what the second firing did otherwise than the first."""
    deeds = [(row.figure, row.differ[1]) for row in telling][:_MOST_SAID]
    return f"Firing B {_deeds(deeds, unit)}." if deeds else _NOTHING


def _set_apart(found: Sequence[Compared], telling: Sequence[FigureRow], unit: str) -> tuple[list[str], list[Figure]]:
    """Return the figures by which the firings with one outcome lie apart from all the others, and those figures."""
    known = [number for number, one in enumerate(found) if one.outcome]
    for word in sorted(WORDS, key=lambda word: word.is_good):
        having = [number for number in known if word in found[number].outcome]
        others = [number for number in known if number not in having]
        if not having or not others:
            continue
        apart = [row for row in telling if _is_apart(row, having, others, unit)][:_MOST_APART]
        who = f"{_SAID.get(word, f'with {word}')} ({_numbers(having)})"
        if not apart:
            few, rest = ("firing", "other") if len(having) == 1 else ("firings", "others")
            rest = "other" if len(others) == 1 else "others"
            return [f"No figure sets the {few} {who} clearly apart from the {rest} ({_numbers(others)})."], []
        said = [] if word not in _MATTERS or any(_is_asked_first(row, word) for row in apart) else [
            f"For {word}, look at {_ASKED_FIRST[word]} first: no figure of them sets {_numbers(having)} apart. "
            f"{_LESS_LIKELY}"]
        said += [f"{'The' if len(having) == 1 else 'Each'} firing {who} "
                f"{_deeds([(row.figure, _span(row, having, unit))], unit)}; "
                f"{'the other' if len(others) == 1 else 'each of the others'} ({_numbers(others)}) "
                f"{_span(row, others, unit)}." for row in apart]
        chance = (f"These are only {len(known)} firings: with so many figures, some differ like this by chance "
                  "alone.")
        return [*said, chance], [row.figure for row in apart]
    return [], []


def _is_apart(row: FigureRow, having: Sequence[int], others: Sequence[int], unit: str) -> bool:
    """Return whether all of one group lie beyond all of the other by a difference worth naming."""
    values = row.values
    one = [value for n in having if (value := values[n]) is not None]
    other = [value for n in others if (value := values[n]) is not None]
    if len(one) < len(having) or len(other) < len(others):
        return False
    above, below = (one, other) if min(one) > max(other) else (other, one)
    return min(above) > max(below) and bool(difference(row.figure.size, max(below), min(above), Units(unit)))


def _span(row: FigureRow, numbers: Sequence[int], unit: str) -> str:
    return span(row.figure.size, [value for n in numbers if (value := row.values[n]) is not None], Units(unit))


def _from_to(row: FigureRow, unit: str) -> str:
    """Return a figure of many firings from its least to its most: ``Top: 789 °C (firing D) to 807 °C (firing E)``."""
    seen = [(value, number) for number, value in enumerate(row.values) if value is not None]
    if len(seen) < 2:
        return f"{row.name}: {row.span}, seen in firing {LETTERS[seen[0][1]]} only"
    (_, least), (_, most) = min(seen), max(seen)
    return f"{row.name}: {row.cells[least]} (firing {LETTERS[least]}) to {row.cells[most]} (firing {LETTERS[most]})"


def _deeds(found: Sequence[tuple[Figure, str]], unit: str) -> str:
    """Return what a firing did, by figure and what is said of it; a verb that the next shares is said once."""
    said, verb = [], ""
    for figure, what in found:
        deed = "" if figure.deed is None else figure.deed(Units(unit)).format(what)
        said.append(deed if figure.verb == verb else f"{figure.verb} {deed}")
        verb = figure.verb
    return _and(said)


def _numbers(numbers: Sequence[int]) -> str:
    return _and([LETTERS[number] for number in numbers])


def _and(parts: Sequence[str]) -> str:
    """Return parts as a list in words: ``a, b and c``."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
