"""TOML that a maker wrote: read into a table or refused with a reason, whatever stands in it."""

from __future__ import annotations

import tomllib
from math import isfinite
from typing import Any

from daemon.errors import BadInput

LONGEST_LINE = 200
"""Characters of a title, a name or a word at a step; each is one line. [chosen: what a line of the page has room
for, and more]"""
_LONGEST_SHOWN = 60
"""Characters of a wrong value that an error shows. [chosen: enough to find it again]"""


def read_toml(text: str, source: str, remedy: str) -> dict[str, Any]:
    """Return the table written in ``text``.

    Parameters
    ----------
    text
        The TOML.
    source
        What to call it in messages, usually the file's name.
    remedy
        What to do where it is no TOML.

    Raises
    ------
    BadInput
        Where it can't be read: not TOML, numbers of thousands of digits, lists nested without end.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as err:
        raise BadInput(source, f"not readable as TOML: {err}.", remedy) from None
    except ValueError:
        raise BadInput(source, "not readable as TOML: a number has thousands of digits.", remedy) from None
    except RecursionError:
        raise BadInput(source, "not readable as TOML: lists or tables are nested too deeply.", remedy) from None


def finite(value: object) -> float | None:
    """Return ``value`` as a number; None where it is none, is not finite or is too large to reckon with."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if isfinite(number) else None


def shown(value: object) -> str:
    """Return a value as a message shows it, cut short where it is long."""
    try:
        text = repr(value)
    except ValueError:
        return "a number of thousands of digits"
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 1] + "…"


def not_a_line(value: object) -> str | None:
    """Return what keeps ``value`` from being one line of text, with the remedy; None where nothing does."""
    if not isinstance(value, str):
        return f'{shown(value)} is not text. Put it in quotes: "…".'
    if len(value) > LONGEST_LINE:
        return f"{shown(value)} has {len(value)} characters. Write at most {LONGEST_LINE}."
    if any(char < " " or "\x7f" <= char < "\xa0" for char in value):
        return f"{shown(value)} is more than one line of text. Write it in one line."
    return None


def named(key: str) -> str:
    """Return a key as a message names it."""
    return key if key.isprintable() and len(key) <= _LONGEST_SHOWN else shown(key)
