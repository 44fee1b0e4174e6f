"""What a firing is shown for, and what the two watchers made of it, in words that are worked out, not written."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from benchmarks.mechanisms.watchers import Judged, Told
from daemon.firing.durations import firing_clock, whole_minutes
from simulations.cases import ToJudge
from simulations.firing import Simulated
from simulations.studies.scoring import SHORT_S
from simulations.truth import TruePart

BEFORE = "30fcbb6"
"""The last commit before the false wakes of kilns made elsewhere were mended."""
OLDER = "c893e9e"
"""The last commit without alerts for a reading that stands still and a contact that comes and goes."""
EARLY_S = 90.0
"""A wake that comes this much before what went wrong is of something else [s].
[chosen: the moment at which it shows may lie some readings off]"""
FOUND_S = 600.0
"""A part counts as found where its beginning lies this near the true one [s].
[chosen: the wider of the two that studies count]"""


@dataclass(frozen=True)
class Shown:
    """A firing that shows a mechanism.

    Attributes
    ----------
    mechanism
        Its number.
    letter
        Tells firings of one mechanism apart; may be empty.
    case
        The firing.
    happens
        What truly goes on in the kiln.
    right
        What a watcher should do.
    window_h
        The hours of it that are drawn, from and to; None is all of it.
    fault
        The fault from whose beginning a delay counts; empty where nothing is wrong.
    must
        Kinds of which one must be told; empty where nobody need be told anything.
    must_wake
        Whether that must wake.
    within_s
        How soon after the fault [s].
    near
        Kinds that may wake as well, though they are not the right ones.
    looks_at
        "alerts", or also "parts" of the plan that must be found, or the "anneal" answer of the verdict.
    before
        The commit whose watcher it is shown with.
    """

    mechanism: int
    letter: str
    case: ToJudge
    happens: str
    right: str
    window_h: tuple[float, float] | None = None
    fault: str = ""
    must: tuple[str, ...] = ()
    must_wake: bool = True
    within_s: float = 3600.0
    near: tuple[str, ...] = ()
    looks_at: str = "alerts"
    before: str = BEFORE

    @property
    def name(self) -> str:
        """Return how the page calls it."""
        return f"{self.mechanism}{self.letter}"


@dataclass(frozen=True)
class Outcome:
    """What one watcher made of one firing, held against what is right.

    Attributes
    ----------
    false_wakes
        Wakes that nothing asked for.
    due_told_s, due_woke_s
        How long after the fault what must be told was told, and woke [s]; None where it never was.
    missing
        Holds that truly were and that it did not find.
    is_right
        Whether it woke for nothing that it should not, told what it must, and found every part that is looked at.
    """

    false_wakes: tuple[Told, ...]
    due_told_s: float | None
    due_woke_s: float | None
    missing: tuple[TruePart, ...]
    is_right: bool


def outcome(shown: Shown, judged: Judged, fired: Simulated) -> Outcome:
    """Return what a watcher made of a firing, held against what is right."""
    onset_s = next((h.at_s for h in fired.truth.faults if h.name == shown.fault), None)
    due = [] if onset_s is None else [
        told for told in judged.heard if told.kind in shown.must and told.at_s >= onset_s - EARLY_S]
    near = [] if onset_s is None else [
        told for told in judged.heard if told.kind in shown.near and told.at_s >= onset_s - EARLY_S]
    false_wakes = tuple(told for told in judged.heard if told.woke and told not in due and told not in near)
    told_s = None if onset_s is None else min((told.raised_s - onset_s for told in due), default=None)
    woke_s = None if onset_s is None else min((told.at_s - onset_s for told in due if told.woke), default=None)
    missing = not_found(fired.truth.parts, judged) if shown.looks_at == "parts" else ()
    done_s = woke_s if shown.must_wake else told_s
    is_told = not shown.must or (done_s is not None and done_s <= shown.within_s)
    is_known = shown.looks_at != "anneal" or not anneal_answer(judged).startswith("Yes")
    return Outcome(false_wakes, told_s, woke_s, missing, is_told and not false_wakes and not missing and is_known)


def not_found(true: Iterable[TruePart], judged: Judged) -> tuple[TruePart, ...]:
    """Return the holds that truly were, and whose beginning the watcher did not find."""
    return tuple(
        part for part in true
        if part.part == "hold" and (part.end_s is None or part.end_s - part.start_s >= SHORT_S)
        and not any((found.step, found.part) == (part.step, part.part) and part.off_s(found.start_s) <= FOUND_S
                    for found in judged.parts)
    )


def anneal_answer(judged: Judged) -> str:
    """Return what the verdict says of the anneal hold; empty where it says nothing."""
    return next((answer for question, answer in judged.answers.items() if "anneal hold" in question), "")


def in_words(shown: Shown, judged: Judged, found: Outcome) -> str:
    """Return what the watcher did, in a few short sentences."""
    said = [listed(judged.heard) or "Told nothing."]
    if shown.must:
        said.append(_due_in_words(shown, found))
    if shown.looks_at == "parts":
        missing = ", ".join(f"step {part.step} at {firing_clock(part.start_s)}" for part in found.missing)
        said.append(f"Holds not found: {missing}." if missing else "Found every hold.")
    if shown.looks_at == "anneal":
        said.append(f"Whole anneal hold? “{anneal_answer(judged)}”")
    return " ".join(said)


def _due_in_words(shown: Shown, found: Outcome) -> str:
    """Return whether and when what must be told was told."""
    if found.due_told_s is None:
        return "**Missed.**"
    told = f"Told after {whole_minutes(found.due_told_s)}"
    if not shown.must_wake:
        return f"{told}."
    return f"{told}, **woke nobody.**" if found.due_woke_s is None else \
        f"Woke after {whole_minutes(found.due_woke_s)}."


def listed(heard: Iterable[Told]) -> str:
    """Return alerts as a list, wakes in heavy type, repeated ones once with their number and the first time."""
    heard = sorted(heard, key=lambda told: told.at_s)
    times = Counter((told.kind, told.woke) for told in heard)
    first: dict[tuple[str, bool], Told] = {}
    for told in heard:
        first.setdefault((told.kind, told.woke), told)
    return "; ".join(
        f"{'**get up**' if woke else 'look'} {kind} {firing_clock(told.at_s)}"
        + (f" and {times[kind, woke] - 1} more" if times[kind, woke] > 1 else "")
        for (kind, woke), told in first.items()
    ) + ("." if first else "")
