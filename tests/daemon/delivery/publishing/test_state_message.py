"""Whatever the state file holds, what is published holds to the schema, and what is unknown is null."""

import json
from datetime import UTC, datetime
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from daemon.delivery.publishing.schema import published
from daemon.delivery.publishing.state_message import state_message
from daemon.firing.events import Alert, Rank, Text
from daemon.service.kiln_alarm import call
from daemon.service.state_reader import DaemonState, read_daemon_state

PUBLISHED = Path(__file__).parents[4] / "docs" / "mqtt-state-schema.json"
STATE = Draft202012Validator(published(), format_checker=Draft202012Validator.FORMAT_CHECKER)
NOW = datetime(2026, 11, 25, 2, 10, tzinfo=UTC)
JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5) | st.sampled_from(["ramp", "hold"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
        st.sampled_from(["step", "part", "start_s", "at_s", "no", "kind", "rank", "text", "raised_s", "what"]), inner,
        max_size=5), max_leaves=8)
KEYS = ("temp_c", "rate_c_per_h", "planned_c", "t_s", "started_utc", "part", "next", "open_at_s", "open_margin_s",
        "alerts", "trouble", "speed", "firing_id")


def test_the_published_schema_is_the_one_in_use_and_is_a_schema():
    assert json.loads(PUBLISHED.read_text(encoding="utf-8")) == published()
    Draft202012Validator.check_schema(published())


@given(st.dictionaries(st.sampled_from(KEYS), JSON))
def test_whatever_the_file_holds_the_message_holds_to_the_schema(said):
    message = state_message("Kiln", DaemonState(said, NOW, 0.0))
    STATE.validate(json.loads(json.dumps(message, allow_nan=False)))


def test_without_a_firing_nothing_of_one_is_told(daemon_says, tmp_path, clock):
    daemon_says(firing=False)
    state = state_message("Küche 2", read_daemon_state(tmp_path, clock.utc()))
    assert (state["temperature_c"], state["firing_open"]) == (21.0, False)
    assert (state["get_up"], state["alerts"]) == (False, [])
    assert {key for key, value in state.items() if value is None} == {
        "rate_c_per_h", "planned_c", "firing_started_utc", "part", "next_part", "opens_at_utc", "opens_at_margin_s"}


def test_moments_are_counted_from_the_begin_of_the_firing(daemon_says, tmp_path, clock, alert):
    daemon_says(alerts=[alert])
    state = state_message("Küche 2", read_daemon_state(tmp_path, clock.utc()))
    assert state["part"] == {"step": 4, "part": "hold", "since_utc": "2026-11-25T01:50:00.000Z"}  # 00:10 and 6,000 s
    assert state["next_part"] == {"step": 5, "part": "ramp", "at_utc": "2026-11-25T02:50:00.000Z"}  # and 9,600 s
    assert state["alerts"] == [{
        "alert": 1, "kind": "cooling-too-fast", "rank": "wake", "what": "The kiln cools too fast.", "answered": False,
        "since_utc": "2026-11-25T02:06:40.000Z", "raised_utc": "2026-11-25T02:08:20.000Z"}]


def test_a_simulated_kiln_that_runs_faster_than_the_clock_gives_no_moments(daemon_says, tmp_path, clock, alert):
    daemon_says(alerts=[alert], speed=60.0)
    state = state_message("Küche 2", read_daemon_state(tmp_path, clock.utc()))
    assert (state["opens_at_utc"], state["opens_at_margin_s"], state["part"]["since_utc"]) == (None, None, None)
    assert state["get_up"]


def test_consequences_and_what_is_over_do_not_stand(daemon_says, tmp_path, clock, alert):
    daemon_says(alerts=[alert | {"cleared_s": 7150.0}, alert | {"no": 2, "under": "lid-open", "rank": "look"}])
    state = state_message("Küche 2", read_daemon_state(tmp_path, clock.utc()))
    assert (state["get_up"], state["alerts"]) == (False, [])


@given(rank=st.sampled_from(Rank), cleared_s=st.none() | st.just(7150.0),
       quiet_until_s=st.none() | st.sampled_from([7100.0, 7300.0]), kind=st.sampled_from(["runaway", "no-reading"]))
def test_get_up_is_on_while_the_sounder_sounds(rank, cleared_s, quiet_until_s, kind):
    alert = Alert(1, kind, rank, 7000.0, 7000.0, Text("", "", ""), cleared_s=cleared_s, quiet_until_s=quiet_until_s)
    row = {"no": 1, "kind": kind, "rank": rank.value, "since_s": 7000.0, "raised_s": 7000.0, "cleared_s": cleared_s,
           "quiet_until_s": quiet_until_s, "text": {"what": "", "meaning": "", "do": ""}}
    said = {"t_s": 7200.0, "started_utc": "2026-11-25T00:10:00Z", "alerts": [row]}
    sounds = any(call(second, [alert], 7200.0, troubled=False, hot=False).sound for second in range(4))
    assert state_message("Kiln", DaemonState(said, NOW, 0.0))["get_up"] is sounds
