"""The page of the mechanisms, as Markdown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from benchmarks.mechanisms.firings import MECHANISMS, NOT_SHOWN
from benchmarks.mechanisms.shown import Outcome, Shown, in_words, outcome
from benchmarks.mechanisms.watchers import Judged
from daemon.firing.plan.plan import Plan
from simulations.firing import Simulated


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
    found = [row.outcomes for row in rows]
    yield f"# Eleven mechanisms, before and after, {day}"
    yield ""
    yield f"`{command}`"
    yield ""
    yield ("In kilns made elsewhere the watcher woke for nothing, or slept, by eleven mechanisms. Each is shown "
           "here by "
           "firings of our own bench and of the second plant, which come as near to it as those can. Each firing was "
           "simulated once, and its trace was judged twice, with no more said of it than plan, glass and thickness: "
           "by "
           "the older watcher and by today's. All kilns are simulated. The firings were chosen because they show the "
           "fault, so their number says nothing of how often it happens; [the studies](watcher-2026-11-29.md) do.")
    yield ""
    for name, commit in commits.items():
        yield f"- *{name}*: commit {commit}"
    yield ""
    yield (f"Of {len(rows)} firings the older watcher judged {sum(before.is_right for before, _ in found)} as is "
           f"right, "
           f"today's {sum(today.is_right for _, today in found)}. Wakes that nothing asked for: "
           f"{sum(len(before.false_wakes) for before, _ in found)} before, "
           f"{sum(len(today.false_wakes) for _, today in found)} today.")
    yield ""


def _table(rows: Sequence[Row]) -> Iterator[str]:
    """Yield the table: a line a firing."""
    yield "Times are h:mm from the start press. Consequences that stand under another alert are left out."
    yield ""
    yield "| | mechanism | before | today | what is right |"
    yield "|---|---|---|---|---|"
    for row in rows:
        shown, (before, today) = row.shown, row.outcomes
        marks = ("right" if found.is_right else "**wrong**" for found in (before, today))
        cells = (f"{mark}: {in_words(shown, judged, found)}" for mark, judged, found in
                 zip(marks, (row.before, row.today), (before, today), strict=True))
        older = "" if shown.before == rows[0].shown.before else f" (before: {shown.before})"
        yield f"| {shown.name} | {MECHANISMS[shown.mechanism].title}{older} | {' | '.join(cells)} | {shown.right} |"


def _mechanisms(rows: Sequence[Row], pictures: str) -> Iterator[str]:
    """Yield a section a mechanism: what it is, its picture, and its firings."""
    yield ("In the pictures grey is what the probe read, thin blue lines are the planned holds, hairlines are where "
           "parts "
           "truly began, a broken line is where something went wrong or where a hold began that was not found. A "
           "thick "
           "tick woke somebody, a thin one is for the morning.")
    for number, mechanism in MECHANISMS.items():
        own = [row for row in rows if row.shown.mechanism == number]
        yield ""
        yield f"## {number}. {mechanism.title}"
        yield ""
        yield mechanism.meaning
        yield ""
        if own:
            yield f"![{mechanism.title}: before at the left, today at the right]({pictures}/{number}.svg)"
            yield ""
        for row in own:
            yield from _firing(row)
        for text in NOT_SHOWN.get(number, ()):
            yield f"- {text}"


def _firing(row: Row) -> Iterator[str]:
    """Yield what one firing is."""
    case = row.shown.case
    wrong = ", ".join(f"`{fault}`" for fault in case.faults) or "nothing"
    habits = ", ".join(f"`{habit}`" for habit in case.habits)
    holds = offsets(row)
    yield (f"- **{row.shown.name}**: {row.shown.happens} Firing `{case.name}`, {case.kiln.name}, "
           f"{case.thickness_mm:g} mm of {case.glass}; plan {on_paper(case.plan)}; goes wrong: {wrong}"
           f"{f'; done by the maker: {habits}' if habits else ''}."
           f"{f' Our probe less the plan, in the second half of each hold: {holds}.' if holds else ''}")


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
