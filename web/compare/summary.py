"""What was different between firings, in a few sentences. It went together; nothing is called a cause. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from daemon.firing.units import Units
from daemon.store.outcomes import WORDS
from web import words
from web.compare.figures import Compared, Figure, FigureRow, difference, span
from web.drawing.overlay_layers import LETTERS

_MOST_SAID, _MOST_LISTED, _MOST_APART = 4, 3, 2
"""So many differences are said of two firings, are listed of more, and set outcomes apart. [chosen: more are not
read]"""
_GOOD = ("as hoped", "clear")
_SAID = {"as hoped": "that came out as hoped", "clear": "that came out clear", "stuck": "that stuck",
         "slid": "that slid", "faded": "that faded", "crack": "with a crack", "uneven slump": "with an uneven slump"}
"""Fixed words that are not said as ``with haze`` is."""
_MATTERS = {"haze": ("haze range", "at the top", "of its top", "above 760"), "crack": ("climbed", "anneal")}
"""What is asked about first where a word was said: the figures whose words hold one of these, in this order. Minutes
where haze forms, the top and the minutes near it; the climb, and the anneal with the cooling below it. [common
practice]"""
_ASKED_FIRST = {"haze": "the haze range and the top", "crack": "the climb and the anneal"}
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
        sentences += [*_came_out(found), _of_two(telling, unit)]
    else:
        apart, used = _set_apart(found, telling, unit)
        sentences += apart
        listed = [_from_to(row, unit) for row in telling if row.figure not in used][:_MOST_LISTED]
        if not telling:
            sentences.append(_NOTHING)
    if written:
        sentences.append(f"Not the same{'' if len(found) == 2 else ' in all'}: {_and(written)}.")
    caution = (NO_CAUSE, HAZE_BEGINS) if "haze" in said else (NO_CAUSE,)
    return Summary(tuple(map(words.bound, sentences)), tuple(map(words.bound, listed)), caution)


_NOT_SAID = "How they came out was not said yet. Each firing’s page asks for it."
_NOTHING = "No measured difference is large enough to name."


def _weight(row: FigureRow, said: Sequence[str]) -> int:
    """Return how far back a figure stands, by what the pieces came out with: what is asked about first is 0."""
    deed = row.figure.deed(Units("C")) if row.figure.deed is not None else ""
    parts = [part for word in _MATTERS if word in said for part in _MATTERS[word]]
    return next((place for place, part in enumerate(parts) if part in deed), len(parts))


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
    deeds = [_deed(row.figure, row.differ[1], unit) for row in telling if row.differ[1]][:_MOST_SAID]
    return f"Firing B {_and(deeds)}." if deeds else _NOTHING


def _set_apart(found: Sequence[Compared], telling: Sequence[FigureRow], unit: str) -> tuple[list[str], list[Figure]]:
    """Return the figures by which the firings with one outcome lie apart from all the others, and those figures."""
    known = [number for number, one in enumerate(found) if one.outcome]
    for word in sorted(WORDS, key=lambda word: word in _GOOD):
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
        said = [] if word not in _MATTERS or any(_weight(row, [word]) < len(_MATTERS[word]) for row in apart) else [
            f"For {word}, look at {_ASKED_FIRST[word]} first: no figure of them sets {_numbers(having)} apart. "
            "What follows is less likely to have to do with it."]
        said += [f"{'The' if len(having) == 1 else 'Each'} firing {who} "
                f"{_deed(row.figure, _span(row, having, unit), unit)}; "
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


def _deed(figure: Figure, what: str, unit: str) -> str:
    return "" if figure.deed is None else figure.deed(Units(unit)).format(what)


def _numbers(numbers: Sequence[int]) -> str:
    return _and([LETTERS[number] for number in numbers])


def _and(parts: Sequence[str]) -> str:
    """Return parts as a list in words: ``a, b and c``."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
