"""A plan held against a load: drawn, doubted, and its cooling filled in by the thickness."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from daemon.firing.advice.anneal_text import advice_lines
from daemon.firing.advice.plan_check import doubts
from daemon.firing.plan.empty_kiln import says_empty
from daemon.firing.plan.plan import Plan
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.setup import DEFAULT_GLASS, DEFAULT_THICKNESS_MM, THINNEST_MM, Setup
from daemon.glass.advice import anneal
from daemon.glass.exposure import HAZE_C
from daemon.glass.materials import FAMILIES, Glass
from daemon.kiln.planning.variants import annealed
from web import words
from web.drawing.trace_model import Picture
from web.drawing.trace_svg import HALF, NARROW, svg
from web.firings.plan_and_run import Leg, cells, corner_points, free_spans, legs
from web.plans.short_notation import write_paper
from web.request.context import settings
from web.request.form import Form
from web.request.load_form import GLASSES, MOST_TYPED_MM

NO_GLASS = "none"
GLASSES_OR_NONE = {**GLASSES, NO_GLASS: "no glass, only shelves"}
"""What may be in the kiln by the names of the form: a glass, or none."""


@dataclass(frozen=True)
class Load:
    """What a plan is checked for."""

    glass_name: str
    glass: Glass
    thickness_mm: float
    faces: int
    uneven: bool

    @property
    def counted_mm(self) -> float:
        """Return the thickness that is reckoned with: uneven work as twice its own; common practice."""
        return self.thickness_mm * (2 if self.uneven else 1)

    @property
    def is_empty(self) -> bool:
        """Return whether nothing but shelves is in the kiln."""
        return self.glass_name == NO_GLASS

    @property
    def anneal_c(self) -> tuple[float, float] | None:
        """Return the annealing range [°C]; None where there is no glass."""
        return None if self.is_empty else (self.glass.band_low_c, self.glass.band_high_c)


@dataclass(frozen=True)
class Drawn:
    """A plan as a drawing: for half of a wide screen, and for a phone."""

    wide: Markup
    narrow: Markup
    course: tuple[Leg, ...]


def read_load(form: Form, title: str) -> Load:
    """Return the load of a form; what can't be used is noted in ``form.wrong``.

    Where no glass was chosen, a plan whose ``title`` says that it is for an empty kiln is of one.
    """
    name = NO_GLASS if says_empty(title) else DEFAULT_GLASS
    if form["glass"]:
        name = form.choice("glass", GLASSES_OR_NONE, DEFAULT_GLASS)
    thickness = form.thickness("thickness", THINNEST_MM, MOST_TYPED_MM, settings().config.thickness_unit)
    return Load(name, FAMILIES.get(name, FAMILIES[DEFAULT_GLASS]), thickness or DEFAULT_THICKNESS_MM,
                2 if form["faces"] == "2" else 1, form["uneven"] == "yes")


def total_s(plan: Plan) -> float:
    """Return how long a plan takes [s], free ramps by an estimate."""
    return sum(part.duration_s for part in planned_parts(plan))


def drawn_plan(plan: Plan, load: Load, unit: str) -> Drawn:
    """Return the drawing of a plan, with what its load must heed."""
    course = legs(planned_parts(plan), (), 0.0)
    picture = Picture(plan=corner_points(course), free=free_spans(course), unit=unit, cells=cells(course, 0.0, unit),
                      haze_c=None if load.is_empty else HAZE_C, anneal_c=load.anneal_c)
    return Drawn(Markup(svg(picture, HALF, name="wide", ground=False)),
                 Markup(svg(Picture(**{**vars(picture), "cells": ()}), NARROW, name="narrow", ground=False)), course)


def check(plan: Plan, load: Load, unit: str) -> tuple[str, ...]:
    """Return what is doubtful in a plan for a load, a sentence each."""
    setup = Setup(plan, load.glass, load.counted_mm, load.faces, unit=unit, is_empty=load.is_empty)
    return tuple(words.bound(words.capital(line)) for line in doubts(setup))


def cooling_lines(plan: Plan, load: Load) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the plan's lines with its cooling as the load asks, and why.

    All up to the last step at the plan's highest target stays as it is written.
    """
    advice = anneal(load.glass, load.counted_mm, load.faces)
    why = tuple(words.bound(line.strip()) for line in advice_lines(advice, uneven=load.uneven))
    return write_paper(annealed(plan, advice)), why
