"""A plan's paper as it was typed, kept with the plan as remarks of its TOML, so that nothing typed is lost."""

from __future__ import annotations

_MARK = "#| "


def with_paper(toml: str, paper: str) -> str:
    """Return a plan's TOML with its paper above it, line by line."""
    lines = "".join(f"{_MARK}{line}".rstrip() + "\n" for line in paper.splitlines())
    return f"{lines}{toml}"


def paper_of(toml: str) -> str:
    """Return the paper that is kept with a plan; empty where none is."""
    lines = []
    for line in toml.splitlines():
        if not line.startswith(_MARK.rstrip()):
            break
        lines.append(line[len(_MARK):])
    return "\n".join(lines)
