"""What was understood of a logger's file, in lines to read before anything is stored."""

from __future__ import annotations

from datetime import datetime, timedelta

from daemon.firing.durations import duration, seconds_or_minutes
from daemon.firing.events import Sample
from daemon.firing.trace.csv_trace import gaps, usual_interval_s
from daemon.foreign_traces.readings import Readings
from daemon.foreign_traces.understanding import Understanding, description


def summary(found: Understanding, readings: Readings) -> list[str]:
    """Return what the file is taken for, its first, highest and last reading, and what to look at."""
    width = max(len(heading) for heading, _ in description(found))
    out = [f"{heading:<{width}}  {words}" for heading, words in description(found)]
    out += ["", *_marks(found, readings), "", measured_words(readings.samples), "", "columns of numbers:"]
    longest = max(len(channel.name) for channel in found.channels)
    out += [f"  {channel.at + 1:>2}  {channel.name:<{longest}}  {channel.lowest:g} to {channel.highest:g}"
            + ("   taken" if channel.at == found.channel.at else "") for channel in found.channels]
    remarks = [*(f"Look at this: {doubt}" for doubt in found.doubts), *readings.notes]
    return [*out, "", *remarks] if remarks else out


def _marks(found: Understanding, readings: Readings) -> list[str]:
    seen = [sample for sample in readings.samples if sample.temp_c is not None]
    if not seen:
        return ["no row has a temperature"]
    highest = max(seen, key=lambda sample: sample.temp_c or 0.0)
    return [f"{heading:<9}  {_when(found, readings.began, sample)}  {sample.temp_c:.1f} °C"
            for heading, sample in (("first row", seen[0]), ("highest", highest), ("last row", seen[-1]))]


def _when(found: Understanding, began: datetime | None, sample: Sample) -> str:
    after = duration(sample.t_s) if sample.t_s else "0 min"
    if began is None:
        return f"after {after}"
    return f"{(began + timedelta(seconds=sample.t_s)).astimezone(found.zone):%Y-%m-%d %H:%M}"


def measured_words(samples: list[Sample]) -> str:
    """Return how many readings there are, how far apart, and how many gaps."""
    holes = gaps(samples)
    longest = max((to_s - from_s for from_s, to_s in holes), default=0.0)
    apart = f"{len(samples):,} readings, one every {seconds_or_minutes(usual_interval_s(samples))}"
    if not holes:
        return f"{apart}, no gap"
    many = "1 gap" if len(holes) == 1 else f"{len(holes)} gaps, the longest"
    return f"{apart}, {many} of {duration(longest)}"
