"""A restart goes on from the checkpoint and tells the same; one that is not certainly right is thrown away."""

from __future__ import annotations

import os
import pickle
import zlib
from dataclasses import replace
from hashlib import sha256
from random import Random

import pytest

from daemon.errors import BadInput
from daemon.firing.events import Said, Sample, Saying
from daemon.firing.report import report
from daemon.firing.setup import Setup
from daemon.firing.step import begin, step
from daemon.firing.verdict.glass_verdict import glass_json
from daemon.glass.materials import FAMILIES
from daemon.lifecycle import checkpoint, judge, resume
from daemon.lifecycle.checkpoint import Of, Taken, after_all
from daemon.store import alerts

SETUP = Setup(None, FAMILIES["90"])
MINUTES = [Sample(60.0 * n, 20.0 + n) for n in range(50)]


def judged(setup, entries):
    state = begin(setup)
    for entry in entries:
        state, _ = step(state, entry)
    return state


@pytest.fixture
def path(tmp_path):
    return tmp_path / checkpoint.FILE_NAME


@pytest.fixture
def written(path):
    """A checkpoint of the first thirty of MINUTES."""
    checkpoint.write(path, Of(7, 0, SETUP), after_all(MINUTES[:30]), judged(SETUP, MINUTES[:30]))
    return path


@pytest.mark.parametrize("faults", [
    ("power-cut=20min@step4:hold",), ("open=25min@step4:hold", "flickers=30@step5:ramp"),
    ("restart@step4:hold+20min",)])
def test_a_night_that_goes_on_from_checkpoint_to_checkpoint_tells_the_same(fired, path, faults):
    night = fired("full-fuse-6mm", *faults, longest_s=10 * 3600.0)
    cuts = Random(3).sample(range(1, len(night.samples)), 40)
    of, taken, state, events = Of(1, 0, night.setup), Taken(), begin(night.setup), []
    for number, sample in enumerate(night.samples, 1):
        state, found = step(state, sample)
        taken = taken.after(sample)
        events += found
        if number in cuts:
            checkpoint.write(path, of, taken, state)
            state, again = checkpoint.read(path, of, night.samples)
            assert again == taken
    assert tuple(events) == night.report.events
    now, then = report(state, night.samples, tuple(events)), night.report
    assert replace(now, suffered=None) == replace(then, suffered=None)
    assert glass_json(night.setup.glass, now.suffered, now.glass_lost) == glass_json(
        night.setup.glass, then.suffered, then.glass_lost)


def test_what_the_maker_said_is_remembered_too(path):
    entries = [*MINUTES[:20], Said(1150.0, Saying.PROBE_OUT), *MINUTES[20:30]]
    checkpoint.write(path, Of(7, 0, SETUP), after_all(entries), judged(SETUP, entries))
    state, taken = checkpoint.read(path, Of(7, 0, SETUP), [*entries, *MINUTES[30:]])
    assert taken.number == len(entries)
    assert state.probe_out


def test_it_is_taken_back_where_the_record_has_gone_on(written):
    state, taken = checkpoint.read(written, Of(7, 0, SETUP), MINUTES)
    assert taken == after_all(MINUTES[:30])
    assert state.last == MINUTES[29]


@pytest.mark.parametrize("of", [
    Of(8, 0, SETUP), Of(7, 1, SETUP), Of(7, 0, replace(SETUP, thickness_mm=12.0)),
    Of(7, 0, replace(SETUP, unit="F")), Of(7, 0, replace(SETUP, glass=FAMILIES["96"]))])
def test_one_of_another_firing_or_load_is_thrown_away(written, of):
    assert checkpoint.read(written, of, MINUTES) is None


@pytest.mark.parametrize("entries", [
    MINUTES[:29],
    [*MINUTES[:10], MINUTES[10]._replace(temp_c=30.5), *MINUTES[11:]],
    [*MINUTES[:10], *MINUTES[11:]],
    [*MINUTES[:10], MINUTES[11], MINUTES[10], *MINUTES[12:]],
    [*MINUTES[:10], Said(545.0, Saying.PROBE_OUT), *MINUTES[10:]],
    []], ids=["fewer", "another reading", "one missing", "another order", "one more", "none"])
def test_one_after_other_entries_than_the_record_holds_is_thrown_away(written, entries):
    assert checkpoint.read(written, Of(7, 0, SETUP), entries) is None


def test_one_of_another_program_is_thrown_away(written, monkeypatch):
    monkeypatch.setattr(checkpoint, "program", lambda: "a newer one")
    assert checkpoint.read(written, Of(7, 0, SETUP), MINUTES) is None


@pytest.mark.parametrize("spoil", [
    lambda data: b"", lambda data: data[:-1], lambda data: data[:40], lambda data: data[:100] + b"\0" + data[101:],
    lambda data: b"\0" * len(data)])
def test_a_damaged_one_is_thrown_away(written, spoil):
    written.write_bytes(spoil(written.read_bytes()))
    assert checkpoint.read(written, Of(7, 0, SETUP), MINUTES) is None


def test_none_is_no_trouble(path):
    assert checkpoint.read(path, Of(7, 0, SETUP), MINUTES) is None


class _MakesFolder:
    """Pickled, it asks for a folder to be made as soon as it is read."""

    def __init__(self, folder):
        self.folder = folder

    def __reduce__(self):
        return os.mkdir, (self.folder,)


@pytest.mark.parametrize("state", [_MakesFolder("made"), BadInput, os.mkdir, [1, 2], pickle.Unpickler])
def test_a_file_that_holds_anything_else_is_thrown_away_and_runs_nothing(path, tmp_path, monkeypatch, state):
    monkeypatch.chdir(tmp_path)
    packed = zlib.compress(pickle.dumps((checkpoint.program(), Of(7, 0, SETUP), after_all(MINUTES), state)))
    path.write_bytes(sha256(packed).digest() + packed)
    assert checkpoint.read(path, Of(7, 0, SETUP), MINUTES) is None
    assert not (tmp_path / "made").exists()


def test_only_its_owner_may_read_it(written):
    assert written.stat().st_mode & 0o777 == 0o600


@pytest.fixture
def taken_by_judges(monkeypatch):
    """Return a list of all entries that any Judge takes from now on."""
    entries = []

    def count(state, entry):
        entries.append(entry)
        return step(state, entry)

    monkeypatch.setattr(judge, "step", count)
    return entries


def test_after_a_restart_only_what_came_since_is_judged(slumped, taken_by_judges):
    studio, _ = slumped(cooling_c_per_h=180.0, past_anneal_s=2100)
    studio.run(300)  # it was left with a checkpoint, and the next is not due
    standing, seconds = studio.watch.live.judge.standing(), studio.watch.live.last_t_s
    stored = studio.see(lambda db: alerts.transitions(db, studio.firing().firing_id))
    assert stored
    taken_by_judges.clear()
    studio.kill()
    studio.start()
    again = [entry for entry in taken_by_judges if isinstance(entry, Sample)]
    assert 0 < len(again) <= 600 / 5
    assert again[-1].t_s == seconds
    assert studio.watch.live.judge.standing() == standing
    studio.run(1200)
    assert studio.see(lambda db: alerts.transitions(db, studio.firing().firing_id))[:len(stored)] == stored


def test_killed_again_seconds_after_a_restart_it_judges_nothing_twice(studio, taken_by_judges):
    studio.start_firing()
    studio.run(300)
    studio.kill()
    taken_by_judges.clear()
    studio.start()
    assert len(taken_by_judges) >= 300 / 5
    studio.run(10)
    studio.kill()
    taken_by_judges.clear()
    studio.start()
    assert len(taken_by_judges) <= 10 / 5
    assert studio.watch.live.taken == after_all(studio.see(lambda db: resume.entries(db, 1)))


def test_a_daemon_that_ends_as_asked_leaves_nothing_to_judge(studio, taken_by_judges):
    studio.start_firing()
    studio.run(120)
    studio.watch.keep_checkpoint()
    taken_by_judges.clear()
    studio.kill()
    studio.start()
    assert taken_by_judges == []
    studio.run(30)
    assert studio.watch.live.taken == after_all(studio.see(lambda db: resume.entries(db, 1)))


def test_another_plan_given_meanwhile_is_judged_from_the_beginning(studio, slump, taken_by_judges):
    studio.start_firing()
    studio.run(120)
    studio.watch.keep_checkpoint()
    assert studio.ask("name", firing_id=1, title="Bowl", plan_id=slump) == "done"
    taken_by_judges.clear()
    studio.kill()
    studio.start()
    assert len(taken_by_judges) >= 120 / 5
    assert studio.watch.live.judge.setup.plan is not None
