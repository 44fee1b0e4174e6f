"""TOML that a maker wrote: read into a table or refused with a reason, whatever stands in it."""

from __future__ import annotations

import re
import tomllib
from math import isfinite
from typing import Any

from daemon.errors import BadInput

LONGEST_LINE = 200
"""Characters of a title, a name or a word at a step; each is one line. [chosen: what a line of the page has room
for, and more]"""
_LONGEST_SHOWN = 60
"""Characters of a wrong value that an error shows. [chosen: enough to find it again]"""
_TWICE = "this name has a value further up already. Keep one of the two"
_QUOTE = "the quote that ends a text is missing. Put one before it and one behind it, in the same line"
_BACKSLASH = "a text holds a backslash. Write it twice, or put the text into single quotes"
_HEADING = "a heading is not closed. Write it as [name], or as [[name]]"
_LINE = "this is neither a heading, as [name], nor a setting, as name = value. Put # before a remark"
_UNSEEN = "a character can't be seen or stand here. Type the line again"
_PLAIN = (
    (r"Cannot mutate immutable namespace \('(.+?)',.*", r"\1 has its value further up already, in a line \1 = …. "
     "Keep one of the two"),
    (r"Cannot declare \('(.+?)',.* twice", r"the heading \1 stands further up already. Put all its lines below one"),
    (r"Cannot overwrite a value|Cannot redefine namespace .*|Duplicate inline table key .*", _TWICE),
    (r"Expected '=' after.*", _LINE),
    (r"Expected '\]+' at the end.*", _HEADING),
    (r"Invalid statement|Invalid initial character.*", _LINE),
    (r"Expected newline or end.*", "something stands behind the value. Put a text in quotes, and # before a remark"),
    (r"Invalid value", "the value can't be read. Put a text in quotes; write a number with a point, without a unit"),
    (r"Unterminated string|Illegal character '\\n'|Expected [\"']'.*|Found invalid character '\\n'", _QUOTE),
    (r"Unescaped .*|Invalid hex value|Escaped character.*", _BACKSLASH),
    (r"Unclosed array", "a list lacks a comma or its ]. Write it as [1, 2]"),
    (r"Unclosed inline table", "a table in braces lacks a comma or its }. Write it as { a = 1, b = 2 }"),
    (r"Invalid date or datetime", "there is no such day or time. Put it in quotes"),
    (r"Illegal character.*|Found invalid character.*", _UNSEEN),
)
"""What the parser says, and the same in plain words with what to do."""


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
        raise BadInput(source, f"not readable as TOML: {_in_plain_words(str(err))}.", remedy) from None
    except ValueError:
        raise BadInput(source, "not readable as TOML: a number has thousands of digits.", remedy) from None
    except RecursionError:
        raise BadInput(source, "not readable as TOML: lists or tables are nested too deeply.", remedy) from None


def _in_plain_words(said: str) -> str:
    """Return what the parser says with the line first; as it says it where its words are new."""
    found = re.fullmatch(r"(.*) \(at (?:(line \d+), column \d+|end of document)\)", said, re.DOTALL)
    if found is None:
        return said
    told = next((re.sub(pattern, plain, found[1]) for pattern, plain in _PLAIN if re.fullmatch(pattern, found[1])),
                found[1])
    return f"{found[2] or 'the last line'}: {told}"


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
