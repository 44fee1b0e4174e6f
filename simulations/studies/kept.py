"""Firings that a hunt found and that stay: where each began, and what was changed in it, as plain text.

A kept firing is a drawn one, by its name, and a list of changes: the name of a field of ``simulations.cases.Case``,
with dots down to the figure that is meant (``around.tuning.band_k``), and its new value. So it can be read, and is
built again without any search.
"""

from __future__ import annotations

import tomllib
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import MISSING, dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import tomlkit

from daemon.errors import BadInput
from daemon.files import read_text, write_text
from simulations.cases import Case
from simulations.faults import FaultError, parse_all

FILE = Path(__file__).with_name("hunted.toml")
"""Where kept firings stand."""
PREFIX = "hunted-"
"""Begins the name of a kept firing."""
AIM_NAMES = ("wakes", "silence")
"""What can be hunted; simulations.studies.badness says what each means."""
NONE = "none"
"""What stands in the file for a field that has no value; TOML has no word for it."""
HEAD = "# Firings that a hunt found"
_HEAD = f"""{HEAD} (python -m simulations hunt --keep): a drawn firing each, and what was changed in it.
# All are invented. Judge them again: python -m simulations hunt --again
"""
_REMEDY = "Hunt anew, or take this case out of the file."


@dataclass(frozen=True, slots=True)
class Kept:
    """A firing that stays.

    Attributes
    ----------
    name, aim
        What runs it again; "wakes" or "silence": what was hunted.
    start
        The drawn firing it began from, by its name.
    drawn
        Fingerprint of that firing: another one tells that the bench draws it otherwise by now.
    found
        What it did when it was found, in words.
    changes
        New values by the names of fields.
    """

    name: str
    aim: str
    start: str
    drawn: str
    found: str
    changes: Mapping[str, Any]


def fingerprint(case: Case) -> str:
    """Return eight hex digits that another case hardly has.

    A field that has its default value does not count, so one that is added later changes nothing.
    """
    return f"{zlib.crc32(repr(_unusual(replace(case, name=''))).encode()):08x}"


def _unusual(value: Any) -> Any:
    """Return a value with each dataclass in it as the names and values of the fields that have no default value."""
    if is_dataclass(value) and not isinstance(value, type):
        return [(each.name, _unusual(getattr(value, each.name))) for each in fields(value)
                if each.default is MISSING or getattr(value, each.name) != each.default]
    return [_unusual(one) for one in value] if isinstance(value, list | tuple) else value


def differences(old: Any, new: Any, below: str = "") -> dict[str, Any]:
    """Return the fields in which two dataclasses of one sort differ, with the new values as TOML can write them.

    A value that isn't plain, such as a plan, is left as it is.
    """
    found: dict[str, Any] = {}
    for each in fields(old):
        was, now, path = getattr(old, each.name), getattr(new, each.name), below + each.name
        if was == now:
            continue
        if is_dataclass(was) and type(was) is type(now):
            found |= differences(was, now, f"{path}.")
        else:
            found[path] = NONE if now is None else list(now) if isinstance(now, tuple) else now
    return found


def changed(case: Case, changes: Mapping[str, Any], where: str = str(FILE)) -> Case:
    """Return the case with new values in the fields named.

    Raises
    ------
    BadInput
        Naming the place, the field and the remedy, where a field is unknown or can't have that value.
    """
    for path, value in changes.items():
        case = _with(case, path.split("."), value, f"{where}, changes, {path!r}")
    try:
        parse_all((*case.faults, *case.habits))
    except FaultError as err:
        raise BadInput(f"{where}, changes", str(err), _REMEDY) from None
    return case


def _with(whole: Any, path: Sequence[str], value: Any, where: str) -> Any:
    """Return a dataclass with one value changed, however deep it lies."""
    known = {each.name: str(each.type) for each in fields(whole)}
    if path[0] not in known:
        raise BadInput(where, f"{path[0]!r} is no field of a {type(whole).__name__} now.",
                       f"Known: {', '.join(known)}. {_REMEDY}")
    was = getattr(whole, path[0])
    if len(path) > 1:
        if not is_dataclass(was):
            raise BadInput(where, f"{path[0]!r} is a single value and has no {path[1]!r}.", _REMEDY)
        new = _with(was, path[1:], value, where)
    else:
        new = _read(value, known[path[0]], where)
    return replace(whole, **{path[0]: new})


def _read(value: Any, kind: str, where: str) -> Any:
    """Return a value from the file as the field's annotation wants it."""
    kind, _, may_be_none = kind.partition(" | ")
    if value == NONE and may_be_none:
        return None
    if kind == "float" and isinstance(value, float | int) and not isinstance(value, bool):
        return float(value)
    if (kind, type(value)) in (("int", int), ("bool", bool), ("str", str)):
        return value
    sort = {"tuple[str, ...]": str, "tuple[float, float, float, float]": float,
            "tuple[float, float, float]": float}.get(kind)
    if sort is not None and isinstance(value, list) and all(type(entry) is sort for entry in value):
        length = kind.count("float")
        if not length or len(value) == length:
            return tuple(value)
    raise BadInput(where, f"{value!r} can't be its value; it takes {kind}.", _REMEDY)


def read_kept(path: Path = FILE) -> tuple[Kept, ...]:
    """Return the kept firings of a file, none where there is no file.

    Raises
    ------
    BadInput
        Naming the file, the case, the key and the remedy.
    """
    if not path.exists():
        return ()
    try:
        tables = tomllib.loads(read_text(str(path), what="the kept firings")).get("case", [])
    except tomllib.TOMLDecodeError as err:
        raise BadInput(str(path), f"is no TOML: {err}.", "Mend the line, or fetch the file anew.") from None
    return tuple(_one(table, f"{path}, case {n}") for n, table in enumerate(tables, start=1))


def _one(table: Mapping[str, Any], where: str) -> Kept:
    """Return the kept firing of one table."""
    keys = {"name": str, "aim": str, "from": str, "drawn": str, "found": str, "changes": dict}
    for key in (*keys, *table):
        if key not in keys:
            raise BadInput(where, f"unknown key {key!r}.", f"Known: {', '.join(keys)}.")
        if not isinstance(table.get(key), keys[key]):
            given = f"is {table[key]!r}" if key in table else "is missing"
            raise BadInput(where, f"{key!r} {given}.", f"It takes a {'table' if key == 'changes' else 'text'}.")
    if table["aim"] not in AIM_NAMES:
        raise BadInput(where, f"'aim' is {table['aim']!r}.", f"Known: {', '.join(AIM_NAMES)}.")
    return Kept(table["name"], table["aim"], table["from"], table["drawn"], table["found"], table["changes"])


def write_kept(kept: Sequence[Kept], path: Path = FILE) -> None:
    """Write the kept firings into a file, whole; BadInput where it can't be written."""
    document = tomlkit.parse(_HEAD)
    cases = tomlkit.aot()
    for each in kept:
        table = tomlkit.table()
        for key, value in (("name", each.name), ("aim", each.aim), ("from", each.start), ("drawn", each.drawn),
                           ("found", each.found), ("changes", dict(each.changes))):
            table.add(key, value)
        cases.append(table)
    if kept:
        document.add("case", cases)
    write_text(str(path), tomlkit.dumps(document), like=HEAD)


def kept_named(name: str, path: Path = FILE) -> Kept:
    """Return the kept firing of that name; BadInput lists those there are."""
    kept = {each.name: each for each in read_kept(path)}
    if name not in kept:
        raise BadInput(str(path), f"{name!r} is not kept.", f"Known: {', '.join(kept) or 'none'}.")
    return kept[name]
