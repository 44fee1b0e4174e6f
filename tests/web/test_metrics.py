"""Figures for a monitoring program, read as one reads them: with the client's own parser of OpenMetrics."""

from __future__ import annotations

import http.client
import json
import re
import shutil
import socket
import subprocess
import sys
import threading
from importlib.metadata import version
from pathlib import Path
from urllib.parse import quote

import pytest
from prometheus_client.openmetrics.parser import text_string_to_metric_families
from werkzeug.serving import make_server

from daemon.settings.config import parse_config
from web.security import passcode

OPENMETRICS = "application/openmetrics-text; version=1.0.0; charset=utf-8"
"""The content type that OpenMetrics 1.0 asks for, section "Protocol Negotiation" (from memory)."""


@pytest.fixture
def casting(tmp_path):
    folder = tmp_path / "casting"
    folder.mkdir()
    return folder


def say(studio, folder, **others):
    """Write the state of another kiln's daemon into ``folder``."""
    said = json.loads((studio.folder / "present.json").read_text(encoding="utf-8"))
    (folder / "present.json").write_text(json.dumps(
        said | {"kiln": "casting kiln", "temp_c": 642.0, **others}), encoding="utf-8")


def read(studio, **others):
    """Return all values by the name of the figure and its labels but their names, as ``(name, kiln, rank)``."""
    answer = studio.app(metrics=True, **others).test_client().get("/metrics")
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, OPENMETRICS)
    assert answer.text.endswith("# EOF\n")
    families = list(text_string_to_metric_families(answer.text))
    assert all(family.documentation.endswith(".") for family in families)
    assert all(family.name.endswith(f"_{family.unit}") for family in families if family.unit)
    return {(sample.name, *sample.labels.values()): sample.value for family in families for sample in family.samples}


def test_a_kiln_that_fires_gives_its_figures_with_units_in_their_names(studio):
    studio.say(studio.fill(), alert=True, temp_c=531.5, planned_c=527.0, cold_junction_c=24.25)
    assert read(studio) == {
        ("lehrling_build_info", version("lehrling")): 1.0,
        ("lehrling_watching", "small kiln"): 1.0, ("lehrling_state_age_seconds", "small kiln"): 1.0,
        ("lehrling_kiln_temperature_celsius", "small kiln"): 531.5,
        ("lehrling_kiln_planned_temperature_celsius", "small kiln"): 527.0,
        ("lehrling_kiln_rate_celsius_per_hour", "small kiln"): -54.0,
        ("lehrling_cold_junction_temperature_celsius", "small kiln"): 24.25,
        ("lehrling_firing_elapsed_seconds", "small kiln"): 31_000.0, ("lehrling_firing_open", "small kiln"): 1.0,
        ("lehrling_alerts_standing", "small kiln", "wake"): 1.0,
        ("lehrling_alerts_standing", "small kiln", "look"): 0.0,
        ("lehrling_alerts_standing", "small kiln", "log"): 0.0,
        ("lehrling_troubles_standing", "small kiln"): 0.0,
    }


def test_the_documents_table_has_each_figure_and_no_other(studio):
    studio.say(studio.fill(), alert=True, cold_junction_c=24.25)
    text = (Path(__file__).parents[2] / "docs" / "programs.md").read_text(encoding="utf-8")
    assert set(re.findall(r"^\| `(lehrling_\w+)` \|", text, re.MULTILINE)) == {name for name, *_ in read(studio)}


def test_an_alert_that_is_over_or_follows_from_another_is_not_counted(studio):
    studio.say(studio.fill(), alert=True, trouble=[{"ailing": "probe", "text": "No probe."}])
    path = studio.folder / "present.json"
    said = json.loads(path.read_text(encoding="utf-8"))
    one = said["alerts"][0]
    said["alerts"] += [one | {"cleared_s": 30_950.0}, one | {"under": "power-cut"}, one | {"rank": "look"}, "broken"]
    path.write_text(json.dumps(said), encoding="utf-8")
    found = read(studio)
    assert [found["lehrling_alerts_standing", "small kiln", rank] for rank in ("wake", "look", "log")] == [1, 1, 0]
    assert found["lehrling_troubles_standing", "small kiln"] == 1


def test_what_is_not_known_is_left_out_and_never_nought(studio):
    studio.say(None, temp_c=None)
    names = {name for name, *_ in read(studio)}
    assert "lehrling_firing_open" in names
    assert not names & {"lehrling_kiln_temperature_celsius", "lehrling_kiln_planned_temperature_celsius",
                        "lehrling_firing_elapsed_seconds", "lehrling_cold_junction_temperature_celsius"}


@pytest.mark.parametrize("age_s", [16.0, 86_400.0, -60.0])
def test_of_a_silent_daemon_only_that_and_since_when_is_told(studio, age_s):
    studio.say(studio.fill(), alert=True, age_s=age_s)
    found = read(studio)
    del found["lehrling_build_info", version("lehrling")]
    assert found == {("lehrling_watching", "small kiln"): 0.0, ("lehrling_state_age_seconds", "small kiln"): age_s}


@pytest.mark.parametrize("text", [None, "", "{", "[]", '"x"', "{}", '{"written_utc": 5}', '{"written_utc": "once"}'])
def test_a_state_file_that_is_missing_or_broken_is_told_as_no_watch(studio, text):
    if text is not None:
        (studio.folder / "present.json").write_text(text, encoding="utf-8")
    found = read(studio)
    del found["lehrling_build_info", version("lehrling")]
    assert found == {("lehrling_watching", "small kiln"): 0.0}


@pytest.mark.parametrize("value", ["NaN", "1e400", "-Infinity", "true", '"531"', "[531]"])
def test_what_no_kiln_can_have_is_left_out(studio, value):
    studio.say(studio.fill(), temp_c=12345.5)
    path = studio.folder / "present.json"
    path.write_text(path.read_text(encoding="utf-8").replace("12345.5", value), encoding="utf-8")
    assert ("lehrling_kiln_temperature_celsius", "small kiln") not in read(studio)


def test_two_kilns_are_told_apart_by_name_also_where_they_have_the_same(studio, casting):
    studio.say(studio.fill(), temp_c=500.0)
    say(studio, casting)
    found = read(studio, others=(casting,))
    assert found["lehrling_kiln_temperature_celsius", "small kiln"] == 500.0
    assert found["lehrling_kiln_temperature_celsius", "casting kiln"] == 642.0
    say(studio, casting, kiln="small kiln")
    found = read(studio, others=(casting, casting.parent / "gone"))
    assert found["lehrling_kiln_temperature_celsius", "small kiln (2)"] == 642.0
    assert found["lehrling_watching", "gone"] == 0.0


@pytest.mark.parametrize("name", ['a "b" \\ c', "two\nlines", "Glühofen °", "{kiln=\"x\"} 5\n# EOF", "\ud800 half"])
def test_no_name_of_a_kiln_breaks_the_format(studio, casting, name):
    studio.say(studio.fill())
    say(studio, casting, kiln=name)
    kept = name.replace("\ud800", "?")
    assert read(studio, others=(casting,))["lehrling_kiln_temperature_celsius", kept] == 642.0


def test_without_the_setting_there_is_nothing(studio, cheap_hash):
    studio.say(studio.fill())
    passcode.keep(studio.folder / "passcode", "warm sand and slow rivers")
    for house in ({"open_house": True}, {"open_house": False}):
        answer = studio.app(**house).test_client().get("/metrics")
        assert (answer.status_code, answer.mimetype) == (404, "text/plain")
        assert "small kiln" not in answer.text


def test_the_client_is_loaded_by_the_first_request_only(studio):
    told = subprocess.run([sys.executable, "-c", (
        "import sys; from pathlib import Path; from web.app import create_app; from web.settings import Settings\n"
        f"folder = Path({str(studio.folder)!r})\n"
        "app = create_app(Settings(folder, folder, metrics=True, open_house=True)).test_client()\n"
        "app.get('/enter'); before = 'prometheus_client' in sys.modules\n"
        "app.get('/metrics'); print(before, 'prometheus_client' in sys.modules)")],
        capture_output=True, text=True, check=True, timeout=120)
    assert told.stdout.split() == ["False", "True"]


def test_no_passcode_is_asked_but_a_name_of_ours_and_nothing_else_is_opened_by_it(studio, cheap_hash):
    studio.say(studio.fill())
    passcode.keep(studio.folder / "passcode", "warm sand and slow rivers")
    client = studio.app(metrics=True, open_house=False).test_client()
    assert client.get("/metrics").status_code == 200
    assert client.get("/metrics", headers={"Host": "evil.example"}).status_code == 400
    assert client.post("/metrics").status_code == 403
    assert client.get("/metrics/").status_code != 200
    assert client.get("/kiln").status_code == 302
    told = client.get("/metrics").text
    assert "river" not in told.lower(), "no title of a firing, no piece"


def test_the_page_says_that_everybody_reads_the_figures(studio):
    said = "may read the kilns’ figures at <code>/metrics</code>"
    assert said in studio.app(metrics=True).test_client().get("/reading").text
    assert said not in studio.app().test_client().get("/reading").text


def test_the_setting_is_read_from_the_owners_file(tmp_path):
    assert parse_config("[page]\nmetrics = true", "here", tmp_path).page.metrics is True
    assert parse_config("[page]", "here", tmp_path).page.metrics is False


SCRAPE = """global: {{scrape_interval: 1s}}
scrape_configs:
  - job_name: kiln
    static_configs: [{{targets: ["127.0.0.1:{port}"]}}]
"""


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("prometheus") is None, reason="Debian's package prometheus is not installed")
def test_a_program_of_the_trade_scrapes_the_figures(studio, tmp_path):
    """Let Prometheus scrape the page once on this machine, and ask it what it has."""
    studio.say(studio.fill(), alert=True, temp_c=531.5)
    page = make_server("127.0.0.1", 0, studio.app(metrics=True))
    threading.Thread(target=page.serve_forever, daemon=True).start()
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port = trial.getsockname()[1]
    config = tmp_path / "scrape.yml"
    config.write_text(SCRAPE.format(port=page.server_port), encoding="utf-8")
    process = subprocess.Popen(
        ["prometheus", f"--config.file={config}", f"--storage.tsdb.path={tmp_path / 'series'}",
         f"--web.listen-address=127.0.0.1:{port}"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        found = asked(port, 'lehrling_kiln_temperature_celsius')
        assert [(one["metric"]["kiln"], one["value"][1]) for one in found] == [("small kiln", "531.5")]
        waking = asked(port, 'lehrling_alerts_standing{rank="wake"}')
        assert [one["value"][1] for one in waking] == ["1"]
    finally:
        process.terminate()
        process.wait(60)
        page.shutdown()
        page.server_close()


def asked(port, query, tries=200):
    """Return what Prometheus has of a query, as soon as it has something; after ``tries`` nothing."""
    for _ in range(tries):
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
        try:
            line.request("GET", f"/api/v1/query?query={quote(query)}")
            found = json.loads(line.getresponse().read())["data"]["result"]
            if found:
                return found
        except (OSError, ValueError, KeyError):
            pass  # it has not started yet
        finally:
            line.close()
        threading.Event().wait(0.1)
    return []
