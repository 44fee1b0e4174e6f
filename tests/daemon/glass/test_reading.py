"""A glass written in TOML is read whole, or refused with every problem, its key, its value and a remedy."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daemon.errors import BadInput
from daemon.glass.materials import FAMILIES, FAMILY_SOURCE, Glass
from daemon.glass.reading import family, parse_glass

WHOLE = """
[glass]
name = "Sheet in hand"
expansion_per_k = 8.6e-6
youngs_modulus_gpa = 72
poisson = 0.23
diffusivity_m2_s = 4.4e-7
strain_point_sheet_c = 511
source = "its data sheet, 2024"

[glass.viscosity]
a = -2.5835
b = 4331.63
t0_c = 247.6

[glass.band]
low_c = 450
high_c = 560
"""
POINTS = """
[glass]
[glass.viscosity]
annealing_point_c = 545
softening_point_c = 720
working_point_c = 1020
"""


def read(text: str) -> Glass | str:
    """Return the glass, or the message that refuses it."""
    try:
        return parse_glass(text, "odd.toml")
    except BadInput as refused:
        return refused.text


def refusal(text: str) -> str:
    with pytest.raises(BadInput) as refused:
        parse_glass(text, "odd.toml")
    return refused.value.text


def with_line(line: str) -> str:
    return WHOLE.replace('name = "Sheet in hand"', f'name = "Sheet in hand"\n{line}')


def viscosity(lines: str) -> str:
    return f"[glass]\n[glass.viscosity]\n{lines}"


def test_a_whole_glass_is_read_as_written():
    glass = parse_glass(WHOLE, "sheet.toml")
    assert glass.name == "Sheet in hand"
    assert (glass.expansion_per_k, glass.youngs_modulus_gpa, glass.poisson) == (8.6e-6, 72.0, 0.23)
    assert glass.diffusivity_m2_s == 4.4e-7
    assert glass.strain_point_sheet_c == 511.0
    assert (glass.band_low_c, glass.band_high_c) == (450.0, 560.0)
    assert glass.source == "its data sheet, 2024"
    # DGG standard glass I, constants from memory: 247.6 + 4331.63 / 14.5835 = 544.6 °C.
    assert glass.annealing_point_c == pytest.approx(544.6, abs=0.1)


def test_three_points_do_instead_of_constants():
    glass = parse_glass(POINTS, "points.toml")
    assert glass.annealing_point_c == pytest.approx(545.0, abs=0.01)
    assert glass.softening_point_c == pytest.approx(720.0, abs=0.01)
    assert glass.strain_point_c == pytest.approx(517.0, abs=0.5)


def test_what_is_left_out_is_taken_from_family_90_and_the_source_says_so():
    glass = parse_glass(POINTS, "points.toml")
    assert glass.expansion_per_k == FAMILIES["90"].expansion_per_k
    assert glass.youngs_modulus_gpa == FAMILIES["90"].youngs_modulus_gpa
    for named in ("points.toml", "expansion_per_k", "youngs_modulus_gpa", "poisson", "diffusivity_m2_s",
                  "family 90", FAMILY_SOURCE):
        assert named in glass.source


def test_the_data_sheets_strain_point_does_not_bend_the_curve():
    plain = parse_glass(POINTS, "points.toml")
    noted = parse_glass(POINTS.replace("[glass]\n", "[glass]\nstrain_point_sheet_c = 400\n", 1), "points.toml")
    assert noted.viscosity == plain.viscosity
    assert noted.strain_point_sheet_c == 400.0


def test_diffusivity_is_conductivity_over_density_and_heat_capacity():
    text = POINTS.replace("[glass]\n", "[glass]\nconductivity_w_mk = 1.25\ndensity_kg_m3 = 2480\n"
                                       "heat_capacity_j_kgk = 1120\n", 1)
    assert parse_glass(text, "points.toml").diffusivity_m2_s == pytest.approx(1.25 / (2480 * 1120))


@pytest.mark.parametrize(("line", "key", "value", "remedy"), [
    ("colour = 3", "glass.colour", "unknown key", "Known here: "),
    ("expansion_per_k = 90", "glass.expansion_per_k", "90", "unit"),
    ('expansion_per_k = "9e-6"', "glass.expansion_per_k", "'9e-6'", "without a unit"),
    ("expansion_per_k = true", "glass.expansion_per_k", "True", "Write a number"),
    ("poisson = 0.5", "glass.poisson", "0.5", "0 to 0.49"),
    ("poisson = nan", "glass.poisson", "nan", "Write a number"),
    ("youngs_modulus_gpa = 70e9", "glass.youngs_modulus_gpa", "7e+10", "unit"),
    ("youngs_modulus_gpa = -70", "glass.youngs_modulus_gpa", "-70", "20 to 150"),
    ("diffusivity_m2_s = inf", "glass.diffusivity_m2_s", "inf", "Write a number"),
    ("strain_point_sheet_c = 1979-05-27", "glass.strain_point_sheet_c", "1979", "Write a number"),
    ("strain_point_sheet_c = 3000", "glass.strain_point_sheet_c", "3000", "200 to 1200"),
    ("strain_point_sheet_c = 1" + "0" * 400, "glass.strain_point_sheet_c", "1000", "Write a number"),
    ("source = 3", "glass.source", "3", "quotes"),
    ("conductivity_w_mk = 1.2", "glass.diffusivity_m2_s", "given twice", "Leave one way out"),
])
def test_a_wrong_line_is_named_with_its_value_and_the_remedy(line, key, value, remedy):
    written = line.split(" = ")[0]
    text = "\n".join(row for row in with_line("").splitlines() if row.split(" = ")[0] != written)
    text = text.replace('name = "Sheet in hand"', f'name = "Sheet in hand"\n{line}')
    told = refusal(text)
    assert told.startswith("odd.toml: ")
    assert f"\n  {key}: " in told
    assert value in told
    assert remedy in told
    assert told.count("\n") == 1  # one problem, told once


@pytest.mark.parametrize(("key", "low", "high"), [
    ("expansion_per_k", 1e-7, 3e-5), ("youngs_modulus_gpa", 20, 150), ("poisson", 0, 0.49),
    ("diffusivity_m2_s", 1e-8, 1e-5), ("conductivity_w_mk", 0.1, 10), ("density_kg_m3", 1000, 8000),
    ("heat_capacity_j_kgk", 200, 3000), ("strain_point_sheet_c", 200, 1200), ("viscosity.a", -20, 5),
    ("viscosity.b", 100, 30_000), ("viscosity.t0_c", -273, 900), ("viscosity.annealing_point_c", 200, 1200),
    ("viscosity.softening_point_c", 300, 1600), ("viscosity.working_point_c", 400, 2200), ("band.low_c", 100, 1200),
    ("band.high_c", 100, 1200),
])
def test_a_wrong_unit_or_power_of_ten_lies_outside_what_a_key_may_be(key, low, high):
    table, _, name = f"glass.{key}".rpartition(".")
    told_of = f"\n  {table}.{name}: "
    for value, is_outside in ((low, False), (high, False), (low - abs(high) / 1e3, True), (high * 1.001, True)):
        told = refusal(f"[glass]\nsurface = 1\n[{table}]\n{name} = {value!r}\n" if table != "glass" else
                       f"[glass]\nsurface = 1\n{name} = {value!r}\n")
        assert (f"{told_of}{value:g} is outside {low:g} to {high:g}." in told) is is_outside


@pytest.mark.parametrize(("lines", "told_of"), [
    ("a = -2.5", "neither way whole"),
    ("annealing_point_c = 545\nsoftening_point_c = 720", "neither way whole"),
    ("a = -2.5\nb = 4300\nt0_c = 250\nannealing_point_c = 545", "nothing else"),
    ("a = -2.5\nb = 4300\nt0_c = -300", "glass.viscosity.t0_c: -300 is outside"),
    ("a = -2.5\nb = 4300\nt0_c = 250\nc = 1", "glass.viscosity.c: unknown key"),
    ("annealing_point_c = 720\nsoftening_point_c = 545\nworking_point_c = 1020", "don't rise by 20 °C each"),
    ("annealing_point_c = 545\nsoftening_point_c = 545\nworking_point_c = 1020", "don't rise by 20 °C each"),
    ("annealing_point_c = 545\nsoftening_point_c = 720\nworking_point_c = 722", "don't rise by 20 °C each"),
    # These three lie on a straight line of log η, where the closed form divides by nothing …
    ("annealing_point_c = 500\nsoftening_point_c = 800\nworking_point_c = 1000", "no curve runs through"),
    # … and these bend the wrong way.
    ("annealing_point_c = 500\nsoftening_point_c = 800\nworking_point_c = 900", "no curve runs through"),
    # Constants for another glass or another unit of viscosity.
    ("a = 5\nb = 100\nt0_c = -273", "-258.714 °C, outside 200 to 1200 °C"),
])
def test_a_curve_that_cannot_be_is_refused(lines, told_of):
    assert told_of in refusal(viscosity(lines))


@pytest.mark.parametrize(("band", "told_of"), [
    ("low_c = 450", "glass.band: incomplete. Write both"),
    ("high_c = 450", "glass.band: incomplete. Write both"),
    ("low_c = 560\nhigh_c = 450", "low_c 560 is not below high_c 450"),
    ("low_c = 450\nhigh_c = 450", "low_c 450 is not below high_c 450"),
    ("low_c = 'x'\nhigh_c = 450", "glass.band.low_c: 'x' is not a number"),
    ("low_c = 450\nhigh_c = 560\nmid_c = 500", "glass.band.mid_c: unknown key"),
])
def test_a_band_that_is_none_is_refused(band, told_of):
    told = refusal(POINTS + "[glass.band]\n" + band)
    assert told_of in told
    assert told.count("\n") == 1


def test_every_problem_is_told_at_once():
    told = refusal("""
        surface = 1
        [glass]
        name = ""
        poisson = 2
        expansion_per_k = "90"
        [glass.viscosity]
        a = "x"
        [glass.band]
        low_c = 3
        """)
    for key in ("surface", "glass.name", "glass.poisson", "glass.expansion_per_k", "glass.viscosity.a",
                "glass.band.low_c", "glass.band:"):
        assert f"\n  {key}" in told


@pytest.mark.parametrize("text", ["", "glass = 3", "glass = []", "[[glass]]", "[oven]\nx = 1", "not toml"])
def test_a_file_without_a_glass_says_what_to_write(text):
    told = refusal(text)
    assert told.startswith("odd.toml: ")
    assert "[glass]" in told


def test_a_family_is_found_by_name():
    assert family("float") is FAMILIES["float"]


@pytest.mark.parametrize("name", ["", "91", "Float", "../90", "nan"])
def test_an_unknown_family_is_told_with_those_there_are(name):
    with pytest.raises(BadInput) as refused:
        family(name)
    assert repr(name) in refused.value.text
    assert "Known: 33, float, 90, 96, 104; or give a file that ends in .toml." in refused.value.text


KEYS = ("name", "expansion_per_k", "youngs_modulus_gpa", "poisson", "diffusivity_m2_s", "conductivity_w_mk",
        "density_kg_m3", "heat_capacity_j_kgk", "strain_point_sheet_c", "source", "colour")
CURVE_KEYS = ("a", "b", "t0_c", "annealing_point_c", "softening_point_c", "working_point_c", "odd")
VALUES = st.one_of(
    st.floats().map(lambda x: repr(x) if x == x and abs(x) != float("inf") else str(x)),
    st.floats(0, 2000).map(repr), st.integers().map(str), st.integers(10**300, 10**400).map(str),
    st.text(max_size=8).map(lambda text: json.dumps(text).replace("\x7f", "\\u007f")),
    st.sampled_from(["true", "[]", "{}", "[[1]]", "1979-05-27", "07:32:00", "0xff", "inf", "nan"]),
)


@given(glass=st.dictionaries(st.sampled_from(KEYS), VALUES),
       curve=st.dictionaries(st.sampled_from(CURVE_KEYS), VALUES),
       band=st.none() | st.dictionaries(st.sampled_from(("low_c", "high_c", "odd")), VALUES))
def test_no_glass_gives_a_traceback(glass, curve, band):
    text = "[glass]\n" + "".join(f"{key} = {value}\n" for key, value in glass.items())
    text += "[glass.viscosity]\n" + "".join(f"{key} = {value}\n" for key, value in curve.items())
    if band is not None:
        text += "[glass.band]\n" + "".join(f"{key} = {value}\n" for key, value in band.items())
    found = read(text)
    if isinstance(found, str):
        assert found.startswith("odd.toml: ")
    else:
        assert found.strain_point_c < found.annealing_point_c < found.softening_point_c
        assert found.band_low_c < found.band_high_c
        assert found.diffusivity_m2_s > 0


@given(points=st.tuples(*(st.floats(100, 2500) for _ in range(3))))
def test_whatever_three_points_the_curve_goes_through_them_or_is_refused(points):
    text = viscosity("annealing_point_c = {!r}\nsoftening_point_c = {!r}\nworking_point_c = {!r}".format(*points))
    found = read(text)
    if isinstance(found, str):
        return
    assert found.annealing_point_c == pytest.approx(points[0], abs=0.1)
    assert found.softening_point_c == pytest.approx(points[1], abs=0.1)
    assert found.viscosity.temp_c(3.0) == pytest.approx(points[2], abs=0.1)


@given(st.text(max_size=200))
def test_no_text_gives_a_traceback(text):
    found = read(text)
    assert not isinstance(found, str) or found.startswith("odd.toml: ")


@pytest.mark.parametrize(("values", "told_of"), [
    ("viscosity = 3", "glass.viscosity: missing. Write [glass.viscosity]"),
    ("[glass.viscosity]\na = -2.5\nb = 4300\nt0_c = 250\n[[glass.band]]\nlow_c = 450", "glass.band: not a table."),
    ("conductivity_w_mk = 1.2", "glass.conductivity_w_mk: not enough for the diffusivity. Write conductivity_w_mk, "
                                "density_kg_m3, heat_capacity_j_kgk, all three."),
])
def test_half_a_table_says_what_is_missing(values, told_of):
    assert f"\n  {told_of}" in refusal(f"[glass]\n{values}\n")


@pytest.mark.parametrize(("apart_k", "is_told"), [(19.0, True), (21.0, False)])
def test_points_lie_twenty_degrees_apart(apart_k, is_told):
    for points in ((545.0, 545.0 + apart_k, 1020.0), (545.0, 720.0, 720.0 + apart_k)):
        told = read(viscosity("annealing_point_c = {!r}\nsoftening_point_c = {!r}\nworking_point_c = {!r}".format(
            *points)))
        assert ("don't rise by 20 °C each" in str(told)) is is_told


def test_a_band_that_leaves_out_its_own_annealing_range_is_refused():
    for band in ("low_c = 830\nhigh_c = 900", "low_c = 110\nhigh_c = 200"):
        assert "leaves out the annealing range" in refusal(POINTS + "[glass.band]\n" + band)
