"""From what the daemon said and what is stored to the values a page shows: pure, no database, no clock."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from types import MappingProxyType

from daemon.firing.events import Rank
from daemon.firing.plan.plan import to_unit
from daemon.firing.situation.by_the_clock import ByClock
from daemon.firing.units import Units
from daemon.service.state_reader import DaemonState, alert_of, number
from web import words
from web.firings.alert_entries import AlertEntry, alert_entries
from web.now.opening_words import BEFORE_OPENING, anneal_words, opening_words
from web.times import near_time_words, time_words

_JUST_S = 3600.0
"""What was over for less than this is told at the head of the page [s]. [chosen: for who comes down late]"""


@dataclass(frozen=True, slots=True)
class LogLine:
    """A line of the log: a time in the margin and what happens then."""

    when: str
    text: str
    tone: str
    """``been``, ``now`` or ``to come``."""
    t_s: float = 0.0
    rank: str = ""
    """Of an alert that is over; empty for anything else."""


@dataclass(frozen=True)
class Present:
    """The part of Now that changes while one looks at it."""

    sentence: str
    temp: str
    unit: str
    movement: str
    beside_plan: str
    clock: str
    """The firing’s own time; with no firing open the time of the reading, as ``now 17:00``."""
    stale: str
    """What to say where the daemon is silent; empty where it is not."""
    alerts: Sequence[AlertEntry]
    log: Sequence[LogLine]
    trouble: Sequence[str]
    title: str
    calls: Sequence[tuple[str, str]]
    """Calls that wait: the temperature as it is typed, and in words."""
    glass: Sequence[str]
    """What the glass goes through now, in sentences."""
    note: str
    """What to know of every figure here: a kiln that is simulated."""

    is_own_display_watched: bool = False
    """Whether the maker watches the kiln's own display, so that a blind Lehrling rings nobody."""
    now_s: float = 0.0
    """The present [s of firing]."""

    @property
    def woken(self) -> AlertEntry | None:
        """Return what one has to get up for, the first of it; None where there is nothing."""
        return next((a for a in self.alerts if a.standing and a.rank == "wake"), None)

    @property
    def just_over(self) -> AlertEntry | None:
        """Return what one was woken for a while ago and is over, the latest; None while something wakes."""
        if self.woken is not None:
            return None
        over = [a for a in self.alerts if a.rank == "wake" and 0 <= self.now_s - a.over_s < _JUST_S]
        return max(over, key=lambda a: a.over_s, default=None)

    @property
    def wants_answer(self) -> tuple[AlertEntry, ...]:
        """Return the wakes that nobody has acknowledged."""
        return tuple(a for a in self.alerts if a.wants_answer and a.rank == "wake")


def present(state: DaemonState | None, unit: str, zone: tzinfo, starts: datetime | None,
            asked: Mapping[tuple[int, str], str] = MappingProxyType({}),
            start: str = "lehrling daemon", keyed_s: Collection[float] = (), *, collected: bool = False) -> Present:
    """Return what Now shows.

    Parameters
    ----------
    state
        What the daemon last said; None where it said nothing.
    unit
        "C" or "F".
    zone
        The owner's time zone.
    starts
        Wall time of second 0 of the open firing; None where no firing is open.
    asked
        What the plan asks in each part, by step and ``ramp`` or ``hold``.
    start
        What to type to start the daemon.
    keyed_s
        When lines were keyed in [s of firing].
    collected
        Whether a studio's server collects what the daemon says: where it has heard nothing, the watch may run.
    """
    if state is None:
        return _nothing_heard(unit) if collected else Present(
            sentence="The watch is not running.", temp="–", unit=unit, movement="", beside_plan="", clock="",
            stale=f"Nothing is being watched. Start the daemon: {start}.", alerts=(), log=(),
            trouble=(), title="Not watching", note="", glass=(), calls=())
    if state.stale:
        return _silent(state, unit, zone)
    temp_c, t_s = state.number("temp_c"), state.number("t_s")
    temp = words.temp(temp_c, unit)
    other = state.table("other_unit")
    said = other.get("sentence") if other.get("unit") == unit else None
    sentence = (said if isinstance(said, str) else state.text("sentence")) or _sentence(
        state, temp, unit, starts is not None)
    clock = f"now {time_words(state.written_utc.astimezone(zone))}"
    if starts is not None and t_s is not None:
        clock = words.clock(starts, t_s)
    entries = _alerts(state, starts, unit, keyed_s)
    woken = next((a for a in entries if a.standing and a.rank == "wake"), None)
    return Present(
        sentence=words.bound(sentence) if woken is None else woken.said.head, temp=temp, unit=unit,
        movement=words.movement(state.number("rate_c_per_h"), unit) if temp_c is not None else "",
        beside_plan=_beside_plan(state, unit) if woken is None else "", clock=clock, stale="",
        alerts=entries, log=_log(state, unit, starts, asked) if starts is not None else (),
        trouble=_trouble(state), title=f"{_loudest(state)}{temp} °{unit}",
        note=bench_note(state, is_firing=starts is not None),
        glass=_glass(state, unit) if temp_c is not None else (), calls=_calls(state, unit),
        is_own_display_watched=state.said.get("own_display") is True, now_s=t_s or 0.0,
    )


def _nothing_heard(unit: str) -> Present:
    """Return what a studio's server shows of a kiln whose watch it has never heard: that, and no more."""
    return Present(
        sentence="Nothing was heard from this kiln yet.", temp="–", unit=unit, movement="", beside_plan="", clock="",
        stale="Whether it is watched is not known here. Look at the kiln.", alerts=(), log=(),
        trouble=(), title="Nothing heard", note="", glass=(), calls=())


def _silent(state: DaemonState, unit: str, zone: tzinfo) -> Present:
    """Return what Now shows while the daemon writes nothing: its last state, marked as old."""
    silent_at = state.written_utc.astimezone(zone)
    since = time_words(silent_at, seconds=True)
    temp = words.temp(state.number("temp_c"), unit)
    return Present(
        sentence=f"No word from the watch since {since}.", temp=temp, unit=unit, movement="then", beside_plan="",
        clock=time_words(silent_at), stale="Nothing is being watched now, as far as this page knows. "
        "Read the kiln’s own display, and look whether the daemon runs.",
        alerts=(), log=(), trouble=_trouble(state), title="No word", note=bench_note(state), glass=(), calls=(),
    )


def _alerts(state: DaemonState, starts: datetime | None, unit: str,
            keyed_s: Collection[float]) -> tuple[AlertEntry, ...]:
    if starts is None:
        return ()
    found = [a for a in map(alert_of, state.tables("alerts")) if a is not None]
    return alert_entries(found, starts, unit=unit, now_s=state.number("t_s") or 0.0, keyed_s=keyed_s)


def _loudest(state: DaemonState) -> str:
    """Return the loudest active rank for the page's title, which is all that is seen of a tab in the background."""
    standing = [a.rank for a in map(alert_of, state.tables("alerts")) if a is not None and a.cleared_s is None
                and a.under is None and a.rank is not Rank.LOG]
    loudest = max(standing, key=lambda rank: rank.height, default=None)
    return f"{words.capital(words.RANKS[loudest.value])}: " if loudest is not None else ""


def _glass(state: DaemonState, unit: str) -> tuple[str, ...]:
    other = state.table("other_unit")
    told = other.get("glass_lines") if other.get("unit") == unit else state.table("glass").get("lines")
    return tuple(words.bound(line) for line in told if isinstance(line, str)) if isinstance(told, list) else ()


def _trouble(state: DaemonState) -> tuple[str, ...]:
    return tuple(trouble.text for trouble in state.troubles)


def _sentence(state: DaemonState, temp: str, unit: str, running: bool) -> str:
    if state.number("temp_c") is None:
        return "The probe gives no temperature. Read the kiln’s own display."
    return "Watching." if running else f"No firing is open. The kiln is at {temp} °{unit}."


def _beside_plan(state: DaemonState, unit: str) -> str:
    """Return where the plan has the kiln now; while nothing is read, where it is by its clock, if that tells it."""
    planned_c, clock = state.number("planned_c"), state.said.get("clock_c")
    if planned_c is not None:
        return f"plan\u00a0{words.temp(planned_c, unit)}"
    if not isinstance(clock, list) or len(clock) != len(ByClock._fields):
        return ""
    low_c, high_c = (number({"c": temp_c}, "c") for temp_c in clock)
    if low_c is None or high_c is None:
        return ""
    return words.bound(f"by its clock the plan is at {Units(unit).about(low_c, high_c)}")


def _calls(state: DaemonState, unit: str) -> tuple[tuple[str, str], ...]:
    """Return the calls that wait: the temperature as it is typed, and in words."""
    found = []
    for table in state.tables("calls"):
        temp_c = number(table, "temp_c")
        if temp_c is not None:
            found.append((f"{to_unit(temp_c, unit):.6g}", words.bound(
                f"{words.temp(temp_c, unit)} °{unit}, {'climbing' if table.get('rising') is True else 'falling'}")))
    return tuple(found)


def bench_note(state: DaemonState, *, is_firing: bool = True) -> str:
    """Return a note that the kiln is simulated, how fast, and whose times are shown; empty for a real one."""
    speed = state.number("speed")
    if speed is None or speed == 1.0:
        return ""
    whose = "Times are the firing’s own." if is_firing else (
        "The time above is this computer’s; the times of a firing are the firing’s own.")
    return f"A simulated kiln, {speed:g} times faster than a real one. {whose}"


def _is_next(state: DaemonState) -> bool:
    """Return whether the anneal hold is the part that comes next."""
    upcoming = state.table("next")
    return upcoming.get("part") == "hold" and number(upcoming, "step") == state.number("anneal_step")


def _log(state: DaemonState, unit: str, starts: datetime,
         asked: Mapping[tuple[int, str], str]) -> tuple[LogLine, ...]:
    """Return the entries of the log from now on: the present part, the next one, the anneal, and the opening.

    Of a firing that broke off there is one: where it did.
    """
    lines: list[tuple[float, str, str]] = []
    for key, at, tone in (("part", "start_s", "now"), ("next", "at_s", "to come")):
        table = state.table(key)
        t_s, step = number(table, at), number(table, "step")
        if t_s is not None and step is not None:
            kind = str(table.get("part", ""))
            wish = asked.get((int(step), kind), "")
            lines.append((t_s, f"{words.capital(words.part(int(step), kind))}{': ' if wish else ''}{wish}", tone))
    broke = state.table("broke_off")
    broke_s, step = number(broke, "at_s"), number(broke, "step")
    if broke_s is not None and step is not None:
        lines = [(broke_s, f"Broke off in {words.part(int(step), str(broke.get('part', '')))}", "now")]
    now_s, open_s = state.number("t_s") or 0.0, state.number("open_at_s")
    anneal_s, margin_s = state.number("anneal_at_s"), state.number("anneal_margin_s")
    if anneal_s is not None and margin_s is not None:
        if _is_next(state):  # said by its own line, whose time only draws on the rate of this minute
            lines = [line for line in lines if line[2] != "to come"]
        learned = state.number("learned_firings")
        lines.append((anneal_s, anneal_words(
            anneal_s, margin_s, now_s, starts, None if learned is None else int(learned)), "to come"))
    found = [LogLine(near_time_words(starts, t_s, now_s), text, tone, t_s) for t_s, text, tone in lines]
    if open_s is not None:
        when, text = opening_words(open_s, state.number("open_margin_s"), now_s, starts, unit)
        found.append(LogLine(when, f"{text}. {BEFORE_OPENING}", "to come", open_s))
    return tuple(found)
