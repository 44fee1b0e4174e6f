"""A file of another logger: sent, looked at, corrected by plain form fields, and only then kept as a firing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from flask import Blueprint, Response, abort, redirect, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from daemon.store import firings, kilns, plans
from daemon.store.chain import source_file
from daemon.store.chain.source_file import MOST_BYTES
from daemon.store.database import FILE_NAME
from web.other_logs import waiting_files
from web.other_logs.as_read import facts, in_the_forms_words, options, sentence
from web.other_logs.reading_process import kept, looked_at
from web.request.context import database, settings
from web.request.form import MAX_LINE, Form
from web.request.load_form import choices, read_load
from web.request.lookup import find

BLUEPRINT = Blueprint("other_logs", __name__)

Answer = str | AnyResponse | tuple[str, int]
ASKED = ("delimiter", "decimal", "time", "time_form", "dates", "zone", "every_s", "temperature", "unit")
"""What a reader may correct, by the names of the form's fields."""
_BUSY = ("Another file is being read just now, or this one took too long. Nothing was stored. Wait a minute and try "
         "it once more. A long file can also be taken in at the computer itself: lehrling trace import.")


@BLUEPRINT.get("/firings/other-logger")
def choose() -> str:
    """Show the form that takes a file."""
    return _choose(Form())


@BLUEPRINT.post("/firings/other-logger")
def send() -> Answer:
    """Keep a file for its reader to look at; nothing of it is in the record yet."""
    form, sent = Form(), request.files.get("log")
    if sent is None or not sent.filename:
        form.wrong["log"] = "Choose a file first."
        return _choose(form), 400
    name = _plain(sent.filename)
    try:
        token = waiting_files.put(settings().data_dir / waiting_files.FOLDER, sent.stream,
                                  settings().clock.utc().timestamp())
    except waiting_files.TooLong:
        form.wrong["log"] = (f"{name} has more than {MOST_BYTES // 2**20} MB. Cut it to the rows of this one firing, "
                             "with the names of the columns, and send that.")
        return _choose(form), 400
    except OSError:
        form.wrong["log"] = "The file can’t be kept: the disk takes no writing now. Nothing was changed."
        return _choose(form), 400
    finally:
        sent.close()
    return redirect(url_for("other_logs.look", token=token, name=name), code=303)


@BLUEPRINT.get("/firings/other-logger/<token>")
def look(token: str) -> Answer:
    """Show what a file is taken for."""
    return _look(token, Form(), 200)


@BLUEPRINT.post("/firings/other-logger/<token>")
def keep(token: str) -> Answer:
    """Keep the file as a firing, judged as if it had been live."""
    path = waiting_files.path_of(settings().data_dir / waiting_files.FOLDER, token)
    if path is None:
        return _gone()
    form = Form(request.form)
    load = read_load(form, choices())
    kiln = form.line("kiln", asked="Say in which kiln it was fired.")
    began = form.line("began")
    if running := _running_in(kiln):
        form.wrong["kiln"] = (f"“{running}” runs in this kiln. Wait until it has ended, or write another name, such "
                              f"as “{_other_kiln()}”.")
    if form.wrong:
        return _look(token, form, 400)
    plan = None if load["plan_id"] is None else plans.plan(database(), load["plan_id"])
    name = _name()
    said = kept(path, name, _asked(), {
        "title": form.line("title") or re.sub(r"\.[A-Za-z]{1,4}$", "", name), "kiln": kiln,
        "plan_toml": None if plan is None else plan.toml, "glass": load["glass"],
        "thickness_mm": load["thickness_mm"], "faces": load["faces"], "pieces": load["piece_ids"], "began": began,
        "now_utc": settings().clock.utc().isoformat(), "database": str(settings().data_dir / FILE_NAME)})
    if said is None or "wrong" in said:
        form.wrong["keep"] = _BUSY if said is None else f"Not stored. {sentence(said['wrong'])}"
        return _look(token, form, 503 if said is None else 400)
    waiting_files.remove(settings().data_dir / waiting_files.FOLDER, token)
    return redirect(url_for("firing.show", firing_id=said["firing"]), code=303)


@BLUEPRINT.get("/firings/<int:firing_id>/source")
def source(firing_id: int) -> Response:
    """Return the file that a firing was taken in from, byte for byte."""
    found = source_file.get(database(), find(firing_id).firing_id)
    if found is None:
        abort(404, "No file of another logger is kept with this firing, or it is damaged.")
    response = Response(found[1], mimetype="application/octet-stream")
    response.headers["Content-Disposition"] = f"attachment; filename*=UTF-8''{quote(found[0], safe='')}"
    return response


def _choose(form: Form) -> str:
    return render_template("other_log.html", form=form, most_mb=MOST_BYTES // 2**20)


def _gone() -> tuple[str, int]:
    return render_template("message.html", headline="This file waits no longer",
                           words="It was taken in already, or it waited for more than a day. The list of firings "
                                 "shows what was taken in. Else send the file once more."), 404


def _look(token: str, form: Form, code: int) -> Answer:
    """Show what a file is taken for, with the form that keeps it as it was typed."""
    path = waiting_files.path_of(settings().data_dir / waiting_files.FOLDER, token)
    if path is None:
        return _gone()
    asked = _asked()
    said = looked_at(path, _name(), asked, settings().unit)
    address = {"token": token, "name": _name(), **{key: value for key, value in asked.items() if value}}
    wrong = _BUSY if said is None else sentence(said["wrong"]) if "wrong" in said else ""
    if not form.typed:
        form = Form({"kiln": _other_kiln(), "title": re.sub(r"\.[A-Za-z]{1,4}$", "", _name())})
    shown = None if said is None or wrong else said
    is_asked = any(value for key, value in asked.items() if key != "zone")
    only_another = said is None or (bool(said.get("wrong", {}).get("is_of_file")) and not is_asked)
    return render_template(
        "other_log_read.html", name=_name(), token=token, wrong=wrong, shown=shown, form=form, address=address,
        only_another=only_another,
        offered=choices(), kilns=kilns.kilns(database()).values(), facts=facts(shown, settings().unit),
        corrected=Form(asked), options=options(asked, shown),
        doubts=[] if shown is None else [in_the_forms_words(doubt) for doubt in shown["doubts"]],
        running=_running_in(settings().kiln), drawn=_drawn(shown)), (422 if wrong and code == 200 else code)


def _drawn(shown: Mapping[str, Any] | None) -> tuple[Markup, Markup] | None:
    """Return the drawings; every word in them is escaped where they are drawn."""
    return None if shown is None else (Markup(shown["wide"]), Markup(shown["narrow"]))


def _asked() -> dict[str, str]:
    """Return what the reader corrects, as the address has it; the time zone is the owner's where none is said."""
    asked = {name: request.args.get(name, "").strip()[:MAX_LINE] for name in ASKED}
    return {**asked, "zone": asked["zone"] or getattr(settings().zone, "key", None) or ""}


def _name() -> str:
    """Return what the file was called."""
    return _plain(request.args.get("name", ""))


def _plain(name: str) -> str:
    """Return a file's name without folders and without what can't be printed."""
    plain = "".join(sign for sign in name.replace("\\", "/").rpartition("/")[2] if sign.isprintable())
    return plain.strip()[-MAX_LINE:] or "file.csv"


def _other_kiln() -> str:
    """Return the name of this page's kiln as another logger saw it."""
    return f"{settings().kiln}, another logger"


def _running_in(kiln: str) -> str:
    """Return the title of the firing that runs in a kiln; empty where none does."""
    number = next((number for number, name in kilns.kilns(database()).items() if name == kiln), None)
    running = None if number is None else firings.current(database(), number)
    return "" if running is None else running.title
