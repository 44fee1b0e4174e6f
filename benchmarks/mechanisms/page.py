"""The page of the mechanisms, as Markdown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from textwrap import wrap

from benchmarks.mechanisms.firings import MECHANISMS, NOT_SHOWN
from benchmarks.mechanisms.shown import BEFORE, Outcome, Shown, in_words, outcome
from benchmarks.mechanisms.watchers import Judged
from daemon.firing.plan.plan import Plan
from simulations.firing import Simulated

_WIDTH = 118
"""A line of the page has at most so many characters. [chosen: as in the other documents]"""


@dataclass(frozen=True)
class Row:
    """A firing that was judged twice."""

    shown: Shown
    fired: Simulated
    before: Judged
    today: Judged

    @property
    def outcomes(self) -> tuple[Outcome, Outcome]:
        """Return what the older watcher and today's made of it."""
        return (outcome(self.shown, self.before, self.fired), outcome(self.shown, self.today, self.fired))


def page(rows: Sequence[Row], commits: Mapping[str, str], day: str, command: str, pictures: str) -> str:
    """Return the page.

    Parameters
    ----------
    rows
        In the order in which they are shown.
    commits
        Hash and date of each commit by the name it has in the rows.
    day
        When it was made.
    command
        What makes it again.
    pictures
        The folder of the pictures, as a link from the page.
    """
    return "\n".join([*_head(rows, commits, day, command), *_table(rows), "", *_mechanisms(rows, pictures)]) + "\n"


def _head(rows: Sequence[Row], commits: Mapping[str, str], day: str, command: str) -> Iterator[str]:
    """Yield what is shown, by which commits, and how it came out."""
    yield from (f"# Eleven mechanisms, before and after, {day}", "", f"`{command}`", "")
    yield from wrapped(
        "In kilns made elsewhere the watcher woke for nothing, or slept, by eleven mechanisms. Here is what our "
        "own bench and the second plant have of them: firings that come as near as those can. Each was simulated "
        "once. Its trace was judged twice, by the older watcher and by today's, which were told plan, glass and "
        "thickness. All kilns are simulated. The firings were chosen because they show a fault, so their number "
        "says nothing of how often it happens; [the studies](watcher-2026-11-29.md) do. [Three wakes that were "
        f"withheld and three that were kept](wakes-argued-{day}.md) are argued apart.")
    yield ""
    yield from (f"- *{name}*: commit {commit}" for name, commit in commits.items())
    yield ""
    yield from wrapped(_sum(rows))
    yield ""


def _sum(rows: Sequence[Row]) -> str:
    """Return how it came out, in a few sentences."""
    found = [row.outcomes for row in rows]
    wrong = ", ".join(row.shown.name for row, (_, today) in zip(rows, found, strict=True) if not today.is_right)
    none = ", ".join(str(number) for number in MECHANISMS if number not in {row.shown.mechanism for row in rows})
    right = [sum(one[n].is_right for one in found) for n in (0, 1)]
    false = [sum(len(one[n].false_wakes) for one in found) for n in (0, 1)]
    said = [f"Of {len(rows)} firings the older watcher judged {right[0]} as is right, today's {right[1]}.",
            f"Wakes that nothing asked for: {false[0]} before, {false[1]} today.",
            f"Today's is wrong in {wrong}." if wrong else "Today's is right in all."]
    return " ".join([*said, f"Of mechanism {none} no firing was found."] if none else said)


def _table(rows: Sequence[Row]) -> Iterator[str]:
    """Yield the table: a line a firing."""
    yield from wrapped("Times are h:mm from the start press. *Get up* woke somebody, *look* is told for the "
                       "morning. What stands under another alert as its consequence is left out.")
    yield from ("", "| | mechanism | before | today | what is right |", "|---|---|---|---|---|")
    for row in rows:
        shown, found = row.shown, row.outcomes
        cells = (f"{'right' if one.is_right else '**wrong**'}: {in_words(shown, judged, one)}"
                 for one, judged in zip(found, (row.before, row.today), strict=True))
        older = f" (before: `{shown.before}`)" if shown.before != BEFORE else ""
        yield f"| {shown.name} | {MECHANISMS[shown.mechanism].title}{older} | {' | '.join(cells)} | {shown.right} |"


def _mechanisms(rows: Sequence[Row], pictures: str) -> Iterator[str]:
    """Yield a section a mechanism: what it is, its picture, and its firings."""
    yield from wrapped(
        "In the pictures the dark line is what the probe read, thin blue lines are the planned holds, and "
        "hairlines are where parts truly began. A broken line is where something went wrong, or where a hold "
        "began that was not found. A thick tick woke somebody, a thin one is for the morning; of more than five "
        "only the first five have names.")
    for number, mechanism in MECHANISMS.items():
        own = [row for row in rows if row.shown.mechanism == number]
        yield from ("", f"## {number}. {mechanism.title}", "")
        yield from wrapped(mechanism.meaning)
        yield ""
        if own:
            yield f"![{mechanism.title}: before at the left, today at the right]({pictures}/{number}.svg)"
            yield ""
        for row in own:
            yield from wrapped(_firing(row), "- ")
        for text in NOT_SHOWN.get(number, ()):
            yield from wrapped(text, "- ")


def _firing(row: Row) -> str:
    """Return what one firing is."""
    case = row.shown.case
    wrong = ", ".join(f"`{fault}`" for fault in case.faults) or "nothing"
    habits = ", ".join(f"`{habit}`" for habit in case.habits)
    holds = offsets(row)
    return (f"**{row.shown.name}**: {row.shown.happens} Firing `{case.name}`, {case.kiln.name}, "
            f"{case.thickness_mm:g} mm of {case.glass}; plan {on_paper(case.plan)}; goes wrong: {wrong}"
            f"{f'; done by the maker: {habits}' if habits else ''}."
            f"{f' Our probe less the plan, in the second half of each hold: {holds}.' if holds else ''}")


def wrapped(text: str, begin: str = "") -> list[str]:
    """Return a paragraph as lines; ``begin`` stands before the first, and as much room before the others."""
    return wrap(text, _WIDTH, initial_indent=begin, subsequent_indent=" " * len(begin), break_long_words=False,
                break_on_hyphens=False)


def offsets(row: Row) -> str:
    """Return what the probe truly read above the plan in the second half of each true hold [K], without noise."""
    truth, steps = row.fired.truth, row.shown.case.plan.steps
    found = []
    for part in truth.parts:
        if part.part != "hold" or part.end_s is None:
            continue
        middle_s = (part.start_s + part.end_s) / 2
        read = [temp_c for t_s, temp_c in zip(truth.times_s, truth.probe_c, strict=True)
                if middle_s <= t_s <= part.end_s and temp_c is not None]
        if read:
            to_c = steps[part.step - 1].to_c
            found.append(f"{sum(read) / len(read) - to_c:+.0f} K at {to_c:.0f} °C")
    return ", ".join(found)


def on_paper(plan: Plan) -> str:
    """Return a plan as it is written on paper, in °C: rate/target/hold in minutes."""
    return ", ".join(
        f"{'free' if step.rate_c_per_h is None else f'{step.rate_c_per_h:.0f}'}/{step.to_c:.0f}"
        + (f"/{step.hold_s / 60:.0f}" if step.hold_s else "")
        for step in plan.steps
    )
