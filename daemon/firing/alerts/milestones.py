"""Good things worth telling, quiet unless chosen: each once in a firing."""

from __future__ import annotations

from daemon.firing.events import Milestone
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import View
from daemon.firing.units import Units
from daemon.firing.verdict.cooldown_forecast import OPEN_C

_BEGUN_FOR_S = 120.0
"""A part is told so long after it began [s]. [tuned: by trial on the bench, study not kept]"""
_HOT_C = 100.0
"""A kiln that was never hotter than this is not told to be cool enough to open [°C].
[chosen: no firing stays below it]"""
_OF_ANNEAL = frozenset({"anneal-begun", "anneal-done"})
"""Those of the anneal hold: lines that are keyed in have one of their own."""


class Milestones:
    """Tells what a firing reaches, each once: its top, its squeeze, its anneal, a step's own words, its end."""

    def __init__(self, parts: tuple[PlannedPart, ...], anneal: PlannedPart | None, top: PlannedPart | None,
                 wording: Units) -> None:
        self._parts = parts
        self._anneal = anneal
        self._top = top
        self._wording = wording
        self._told: set[str] = set()
        self._was_hot = False

    def take_over(self, told: Milestones) -> None:
        """Tell nothing again that ``told`` has told by the plan before, but the anneal of this plan."""
        self._told |= told._told - _OF_ANNEAL

    def see(self, view: View) -> list[Milestone]:
        """Return what has been reached since the last beat."""
        found: list[Milestone] = []
        part = view.part
        if part is not None and view.found and view.t_s - view.found[-1].start_s > _BEGUN_FOR_S:
            if self._top and part.index == self._top.index:
                self._tell(found, view, "top-reached", "At the top, {}.", temp_c=part.to_c)
            if part.part == "hold" and part.purpose == "squeeze":
                self._tell(found, view, "squeeze-begun", "The squeeze at {} has begun.", temp_c=part.to_c)
            if self._anneal and part.index == self._anneal.index:
                self._tell(found, view, "anneal-begun", "The anneal hold at {} has begun.", temp_c=part.to_c)
            if self._anneal and part.index > self._anneal.index and "anneal-done" not in self._told and (
                    view.progress is None or view.progress.is_whole) and any(
                    p.index == self._anneal.index for p in view.found):
                self._tell(found, view, "anneal-done", "The anneal hold is over; cooling by the plan.")
            self._step_words(found, view, part)
        self._was_hot = self._was_hot or view.temp_c > _HOT_C
        if self._was_hot and view.temp_c < OPEN_C:
            self._tell(found, view, "may-be-opened",
                       "{} at the probe. Shelf and mould may be warmer: feel with care, gloves at hand.",
                       temp_c=OPEN_C)
        return found

    def _step_words(self, found: list[Milestone], view: View, part: PlannedPart) -> None:
        """Tell what the plan says is to be told at this step, if anything."""
        tell = view.plan.steps[part.step - 1].tell
        if tell:
            self._tell(found, view, f"step-{part.step}", f"Step {part.step}: {tell}", part.step)

    def _tell(self, found: list[Milestone], view: View, name: str, text: str, step: int | None = None,
              temp_c: float | None = None) -> None:
        """Tell a milestone unless it was told before, with the temperature for the {} in its words [°C]."""
        if name not in self._told:
            self._told.add(name)
            words = text if temp_c is None else text.format(self._wording.temp(temp_c))
            found.append(Milestone(view.t_s, name, words, step, temp_c))
