"""The words of a plan's steps, as they are kept beside its TOML to be found."""

from __future__ import annotations

import tomllib


def plan_words(toml: str) -> str:
    """Return what the maker wrote to the steps of a plan, and what each is for, a line each; empty for no plan."""
    try:
        steps = tomllib.loads(toml).get("step", [])
    except tomllib.TOMLDecodeError:
        return ""
    found = [step[key] for step in steps if isinstance(step, dict) for key in ("purpose", "tell") if key in step] \
        if isinstance(steps, list) else []
    return "\n".join(dict.fromkeys(line for line in found if isinstance(line, str)))
