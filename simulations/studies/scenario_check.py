"""Whether a watcher says of a scenario everything it must, and nothing it must not."""

from __future__ import annotations

from collections.abc import Iterator

from simulations.studies.scenarios import SCENARIOS, Scenario
from simulations.studies.scoring import Score, score


def mistakes(scenario: Scenario, found: Score) -> Iterator[str]:
    """Yield, in words, what was missed or said without need; nothing where all is well."""
    if not found.is_as_meant:
        yield "what was to go wrong never did"
    for answer in found.answers:
        asked = f"{answer.kinds[0]} ({answer.rank})"
        if answer.raised_min is None:
            yield f"missed {asked}"
        elif answer.rank == "wake" and answer.woke_min is None:
            yield f"{asked} did not wake"
        elif not answer.is_ranked_right:
            yield f"{asked} woke"
        if answer.named is not None and not answer.is_named_right:
            yield f"{asked} was called {answer.named}"
    for kind, t_s in found.wakes:
        yield f"needless wake: {kind} at {t_s:.0f} s"
    if not scenario.case.expected:
        for kind, t_s in found.looks:
            if kind not in scenario.may_look:
                yield f"needless look: {kind} at {t_s:.0f} s"


def check(name: str) -> list[str]:
    """Fire and judge the scenario of that name; return what is wrong with what was said, in words."""
    scenario = SCENARIOS[name]
    return list(mistakes(scenario, score(scenario.case)))
