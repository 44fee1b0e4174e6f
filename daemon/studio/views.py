"""Views that give the page the tables of a box's own record, so that it asks the same questions of either.

``lehrling.box`` of the session says which box. They are made anew by each version, since nothing is kept in them.
Keys that a box's record has for itself, such as ``alert_id``, are made of the firing's number and the place in it.
"""

from __future__ import annotations

_KEY = "{0}.firing_id * 1000000 + "
"""Makes a key out of a firing's number. [derived: no firing has a million alerts, notes or answers]"""


def _key(name: str) -> str:
    """Return the columns of an entry that has a key of its own, made of its firing and its place."""
    return f"k.firing_id, {_KEY.format('k')} k.ref AS {name}"


def _record(columns: str) -> str:
    """Return the columns of a JSON object, given as ``name:type`` with letters for the types."""
    types = {"t": "lehrling.words", "i": "bigint", "r": "float8"}
    return ", ".join(f"{name} {types[kind]}"
                     for name, _, kind in (column.partition(":") for column in columns.split()))


def _kept(view: str, kind: str, columns: str, extra: str, hidden: str = "") -> str:
    """Return a view of the entries of one kind; ``hidden`` columns are read and not shown."""
    names = ", ".join(f"c.{column.partition(':')[0]}" for column in columns.split())
    return (f"CREATE VIEW lehrling_page.{view} AS SELECT {extra}, {names} FROM lehrling.kept AS k,"
            f" LATERAL json_to_record(k.content) AS c({_record(f'{columns} {hidden}')})"
            f" WHERE k.box = lehrling_page.this_box() AND k.kind = '{kind}'")


def _beside(view: str, columns: str, extra: str = "", hidden: str = "") -> str:
    """Return a view of rows that are beside the chain; ``hidden`` columns are read and not shown."""
    names = ", ".join(f"c.{column.partition(':')[0]}" for column in columns.split())
    return (f"CREATE VIEW lehrling_page.{view} AS SELECT f.firing_id, {extra}{names} FROM lehrling.firing AS f,"
            f" LATERAL json_array_elements(f.beside->'{view}') WITH ORDINALITY AS e(entry, place),"
            f" LATERAL json_to_record(e.entry) AS c({_record(f'{columns} {hidden}')})"
            " WHERE f.box = lehrling_page.this_box()")


def _things(view: str, columns: str) -> str:
    """Return a view of things that belong to no firing."""
    names = ", ".join(f"c.{column.partition(':')[0]}" for column in columns.split())
    return (f"CREATE VIEW lehrling_page.{view} AS SELECT t.number AS {view}_id, {names} FROM lehrling.thing AS t,"
            f" LATERAL json_to_record(t.content) AS c({_record(columns)})"
            f" WHERE t.box = lehrling_page.this_box() AND t.kind = '{view}'")


def _empty(view: str, columns: str) -> str:
    """Return a view of a table that a box keeps for itself."""
    types = {"t": "text", "i": "bigint", "r": "float8", "b": "bytea"}
    names = ", ".join(f"NULL::{types[kind]} AS {name}"
                      for name, _, kind in (column.partition(":") for column in columns.split()))
    return f"CREATE VIEW lehrling_page.{view} AS SELECT {names} WHERE false"


_FACTS = ("title:t opened_by:t started_utc:t start_boot_id:t start_clock_s:r speed:r glass:t thickness_mm:r faces:i"
          " offset_c:r ended_s:i ended_utc:t ended_by:t highest_128:i alert_base:i invented:i")
_PARTS = "part_index:i step:i part:t start_s:r end_s:r rate_c_per_h:r mean_c:r"
_BESIDE = "kiln:i probe:i plan:i binned_utc:t emptied_utc:t"

STATEMENTS = (
    "DROP SCHEMA IF EXISTS lehrling_page CASCADE",
    "CREATE SCHEMA lehrling_page",
    "CREATE FUNCTION lehrling_page.this_box() RETURNS integer LANGUAGE sql STABLE"
    " AS $$ SELECT current_setting('lehrling.box')::integer $$",
    # Functions that SQLite has.
    "CREATE FUNCTION lehrling_page.add_word(text, bigint) RETURNS text LANGUAGE sql IMMUTABLE"
    " AS $$ SELECT CASE WHEN $1 IS NULL THEN $2::text ELSE $1 || ',' || $2 END $$",
    "CREATE AGGREGATE lehrling_page.group_concat(bigint) (SFUNC = lehrling_page.add_word, STYPE = text)",
    "CREATE FUNCTION lehrling_page.max(text, text) RETURNS text LANGUAGE sql IMMUTABLE"
    " AS $$ SELECT CASE WHEN $1 > $2 COLLATE \"C\" THEN $1 ELSE $2 END $$",
    "CREATE FUNCTION lehrling_page.json_extract(text, text) RETURNS text LANGUAGE sql IMMUTABLE"
    " AS $$ SELECT $1::json #>> string_to_array(substr($2, 3), '.') $$",
    "CREATE FUNCTION lehrling_page.\"json_array\"(text, bigint, bigint) RETURNS text LANGUAGE sql IMMUTABLE"
    " AS $$ SELECT json_build_array($1, $2, $3)::text $$",
    "CREATE FUNCTION lehrling_page.end_list(text) RETURNS text LANGUAGE sql IMMUTABLE"
    " AS $$ SELECT coalesce($1, '[') || ']' $$",
    *(statement for kind in ("text", "json") for statement in (
        f"CREATE FUNCTION lehrling_page.add_entry(text, {kind}) RETURNS text LANGUAGE sql IMMUTABLE"
        " AS $$ SELECT coalesce($1 || ',', '[') || coalesce(to_json($2)::text, 'null') $$",
        f"CREATE AGGREGATE lehrling_page.json_group_array({kind}) (SFUNC = lehrling_page.add_entry, STYPE = text,"
        " FINALFUNC = lehrling_page.end_list)")),
    "CREATE VIEW lehrling_page.firing AS SELECT f.firing_id, b.kiln AS kiln_id, b.probe AS probe_id,"
    " b.plan AS plan_id, coalesce(c.title, 'Deleted') AS title, c.opened_by,"
    " coalesce(c.started_utc, '1970-01-01T00:00:00.000Z') AS started_utc, c.start_boot_id, c.start_clock_s, c.speed,"
    " c.glass, c.thickness_mm, c.faces, c.offset_c, c.ended_s, c.ended_utc, c.ended_by, c.highest_128, c.alert_base,"
    " c.invented, b.binned_utc, b.emptied_utc FROM lehrling.firing AS f"
    " LEFT JOIN lehrling.kept AS k ON k.box = f.box AND k.firing_id = f.firing_id AND k.kind = 'firing',"
    f" LATERAL json_to_record(coalesce(k.content, '{{}}')) AS c({_record(_FACTS)}),"
    f" LATERAL json_to_record(f.beside) AS b({_record(_BESIDE)})"
    " WHERE f.box = lehrling_page.this_box() AND b.kiln IS NOT NULL"
    " AND (k.content IS NOT NULL OR b.emptied_utc IS NOT NULL)",
    "CREATE VIEW lehrling_page.firing_piece AS SELECT f.firing_id, piece.piece::bigint AS piece_id"
    " FROM lehrling.firing AS f, LATERAL json_array_elements_text(f.beside->'pieces') AS piece(piece)"
    " WHERE f.box = lehrling_page.this_box()",
    "CREATE VIEW lehrling_page.reading AS SELECT firing_id, t_s, temp_128, below_128, above_128, fault"
    " FROM lehrling.reading WHERE box = lehrling_page.this_box()",
    "CREATE VIEW lehrling_page.thinned_trace AS SELECT firing_id, thinned AS stretches FROM lehrling.firing"
    " WHERE box = lehrling_page.this_box() AND thinned IS NOT NULL",
    "CREATE VIEW lehrling_page.link AS SELECT firing_id, no, kind, ref, own, head FROM lehrling.link"
    " WHERE box = lehrling_page.this_box()",
    "CREATE VIEW lehrling_page.part AS SELECT f.firing_id, e.place - 1 AS seq, c.part_index, c.step, c.part,"
    " c.start_s, c.end_s, c.rate_c_per_h, c.mean_c FROM lehrling.firing AS f"
    " LEFT JOIN lehrling.kept AS k ON k.box = f.box AND k.firing_id = f.firing_id AND k.kind = 'parts',"
    " LATERAL json_array_elements(coalesce(k.content, f.beside->'parts')) WITH ORDINALITY AS e(entry, place),"
    f" LATERAL json_to_record(e.entry) AS c({_record(_PARTS)}) WHERE f.box = lehrling_page.this_box()",
    _kept("alert", "alert", "no:i kind:t rank:t since_s:r raised_s:r woke_s:r cleared_s:r acknowledged_s:r step:i"
          " under:t named:t what:t meaning:t advice:t time_left_s:r pieces:t",
          _key("alert_id")),
    _kept("transition", "told", "t_s:r wall_utc:t change:t kind:t rank:t what:t",
          f"{_KEY.format('k')} k.ref AS transition_id, {_KEY.format('k')} c.alert_no AS alert_id", "alert_no:i"),
    _kept("said", "said", "t_s:i what:t alert_no:i for_s:r temp_c:r", _key("said_id")),
    _kept("note", "note", "wall_utc:t text:t", _key("note_id")),
    _kept("judgement", "judgement", "wall_utc:t version:t told:t", _key("judgement_id")),
    _beside("gap", "from_s:i to_s:i reason:t"),
    _beside("clock_mark", "t_s:i wall_utc:t boot_id:t clock_s:r synchronised:i"),
    _beside("milestone", "t_s:r name:t text:t step:i temp_c:r"),
    _beside("meter_reading", "kwh:r wall_utc:t"),
    _beside("outcome", "words:t place:t note:t wall_utc:t",
            f"{_KEY.format('f')} e.place AS outcome_id, c.piece AS piece_id, ", "piece:i"),
    _beside("heat_use", "method:i hot_s:r kelvin_h:r most_k:r full_k:r why:t"),
    _things("kiln", "name:t"),
    _things("probe", "kiln_id:i name:t thermocouple_type:t"),
    _things("plan", "title:t version:i toml:t created_utc:t retired_utc:t only_for:i words:t"),
    _things("piece", "name:t glass:t thickness_mm:r layers:t note:t created_utc:t thinnest_mm:r separator:t"
            " drying_from_utc:t dry_by_utc:t colour:t"),
    _things("part_change", "kiln_id:i part:t day:t note:t wall_utc:t removed_utc:t"),
    _things("calibration", "kiln_id:i part_change_id:i thermocouple_type:t tolerance_class:i method:t said:t"
            " reference_c:r reading_c:r cold_junction_c:r readings:i plus_minus_k:r reference_k:r noise_k:r"
            " steadiness_k:r step_k:r wall_utc:t removed_utc:t"),
    _empty("known_kiln", "firing_id:i told:t"),
    _empty("source_file", "firing_id:i name:t bytes:i kept_utc:t packed:b"),
    _empty("photograph", "photograph_id:i piece_id:i firing_id:i moment:t mark:t width:i height:i caption:t"
           " wall_utc:t removed_utc:t"),
    _empty("outbox", "outbox_id:i transition_id:i channel:t title:t body:t created_utc:t about:t rank:t"),
    _empty("delivery", "outbox_id:i tries:i next_try_utc:t sent_utc:t error:t"),
    _empty("request", "request_id:i kind:t payload:t wall_utc:t expires_utc:t taken_utc:t outcome:t token:t"),
    _empty("setting", "key:t value:t"),
)
