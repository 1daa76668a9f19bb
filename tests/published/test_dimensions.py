"""Room dimension text against exact fractions and the published conversions."""

import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from deliverables.rules.plan.dimensions import DIMENSIONS, length_m, room_area_m2, room_dimensions

FOOT, INCH = (
    Fraction(3048, 10000),
    Fraction(254, 10000),
)  # NIST SP 811, appendix B.8: foot to metre, inch to metre, exact
VULGAR = {Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾", Fraction(1, 8): "⅛", Fraction(7, 8): "⅞"}

ROOMS = [
    # common practice, no source: how drafters write one room of 12 ft 4 in by 10 ft
    ("12'-4\" × 10'-0\"", 12 * FOOT + 4 * INCH, 10 * FOOT),
    ("12'4\"x10'", 12 * FOOT + 4 * INCH, 10 * FOOT),
    ("12′ 4″ X 10′ 0″", 12 * FOOT + 4 * INCH, 10 * FOOT),
    ("12’-4” x 10’-0”", 12 * FOOT + 4 * INCH, 10 * FOOT),
    ("12'4''x10'0''", 12 * FOOT + 4 * INCH, 10 * FOOT),
    ("12'4 x 10'0", 12 * FOOT + 4 * INCH, 10 * FOOT),
    ("12 ft 4 in by 10 ft", 12 * FOOT + 4 * INCH, 10 * FOOT),
    ("12ft 4in x 10ft", 12 * FOOT + 4 * INCH, 10 * FOOT),
    ('148" × 120"', 12 * FOOT + 4 * INCH, 10 * FOOT),
    ("12'-4\"W × 10'-0\"D", 12 * FOOT + 4 * INCH, 10 * FOOT),
    ("12'4\" (3.76m) x 10'0\" (3.05m)", 12 * FOOT + 4 * INCH, 10 * FOOT),
    ("12'-4½\" × 10'-0\"", 12 * FOOT + Fraction(9, 2) * INCH, 10 * FOOT),
    ("12′4½″ x 10′", 12 * FOOT + Fraction(9, 2) * INCH, 10 * FOOT),
    ("12'-4 1/2\" × 10'-0 3/4\"", 12 * FOOT + Fraction(9, 2) * INCH, 10 * FOOT + Fraction(3, 4) * INCH),
    ("12'-4-1/2\" × 10'-⅞\"", 12 * FOOT + Fraction(9, 2) * INCH, 10 * FOOT + Fraction(7, 8) * INCH),
    ("12.5' × 10.25'", Fraction("12.5") * FOOT, Fraction("10.25") * FOOT),
    ("3.76 × 3.05 m", Fraction("3.76"), Fraction("3.05")),
    ("3.76m x 3.05m", Fraction("3.76"), Fraction("3.05")),
    ("3,76 × 3,05 m", Fraction("3.76"), Fraction("3.05")),
    ("3.76m (12'4\") x 3.05m (10'0\")", Fraction("3.76"), Fraction("3.05")),
    ("3760 × 3050 mm", Fraction("3.76"), Fraction("3.05")),
    ("376cm * 305cm", Fraction("3.76"), Fraction("3.05")),
]
NO_ROOMS = [
    "12 x 10",
    "1:100",
    "3.76 m",
    "12'-4\"",
    "scale 1 × 2",
    "2 x 4 m²",
    "A4 x 2",
    "x",
    "12' x",
    "3.76.1 × 2 m",
    "1/2 x 3 m",
]


@pytest.mark.parametrize(("text", "across", "along"), ROOMS)
def test_a_rooms_dimensions_are_exact(text, across, along):
    assert room_dimensions(text) == [(across, along)]
    assert room_dimensions(f"BEDROOM 2\n{text}") == [(across, along)]
    assert room_area_m2([text, "Hall"]) == across * along


@pytest.mark.parametrize("text", NO_ROOMS)
def test_other_figures_are_no_dimensions(text):
    assert room_dimensions(text) == []


def test_one_room_in_two_units_is_one_room():
    assert len(room_dimensions("12'-4\" × 10'-0\"\n(3.76 × 3.05 m)")) == 1
    assert len(room_dimensions("12'-4\" × 10'-0\" and 6'-0\" × 5'-0\"")) == 2


def test_published_lengths_in_feet_and_inches_are_met_exactly(checks):
    # units/units.json, feet_inches
    rows = json.loads((checks / "units" / "units.json").read_text("utf-8"))["feet_inches"]
    for row in rows:
        text = f"{row['feet']}'-{row['inches']}\""
        assert length_m(text) == Fraction(row["m_exact"]), text


def test_published_units_are_met_exactly(checks):
    # units/units.json, exact: 1 inch, 1 foot in metres
    exact = {row["from"]: row["value"] for row in json.loads((checks / "units" / "units.json").read_text())["exact"]}
    assert length_m('1"') == Fraction(exact["1 inch"])
    assert length_m("1'") == Fraction(exact["1 foot"])
    assert room_area_m2(["1' × 1'"]) == Fraction(exact["1 square foot"])


lengths = st.tuples(st.integers(1, 99), st.integers(0, 11), st.sampled_from((Fraction(0), *VULGAR, Fraction(5, 16))))


def written(feet, inches, part, vulgar):
    if not part:
        return f"{feet}'-{inches}\""
    return f"{feet}'-{inches}{VULGAR[part]}\"" if vulgar and part in VULGAR else f"{feet}'-{inches} {part}\""


@given(lengths, lengths, st.booleans())
def test_every_length_in_feet_inches_and_fractions_is_read_back(one, other, vulgar):
    expected = tuple(feet * FOOT + (inches + part) * INCH for feet, inches, part in (one, other))
    assert room_dimensions(f"{written(*one, vulgar)} × {written(*other, vulgar)}") == [expected]


@given(st.decimals("0.01", "99.99", places=2), st.decimals("0.01", "99.99", places=2), st.sampled_from((".", ",")))
def test_every_metric_pair_is_read_back(one, other, point):
    text = f"{one} × {other} m".replace(".", point)
    assert room_dimensions(text) == [(Fraction(one), Fraction(other))]


@given(st.lists(st.tuples(lengths, lengths), max_size=6))
def test_the_sum_over_rooms_is_exact(rooms):
    labels = [f"{written(*one, False)} × {written(*other, False)}" for one, other in rooms]
    sides = [[f * FOOT + (i + p) * INCH for f, i, p in room] for room in rooms]
    assert room_area_m2(labels) == sum((across * along for across, along in sides), Fraction(0))


@given(st.text(alphabet="0123456789'\"′″-./ ×xm½ftin,()\n", max_size=60))
def test_no_text_breaks_the_reading(text):
    assert all(across > 0 and along > 0 for across, along in room_dimensions(text))


def test_a_long_run_of_figures_is_read_in_time():
    assert DIMENSIONS.search("1'-1 " * 20_000) is None
    assert DIMENSIONS.search("1 " * 50_000 + "1" * 50_000) is None
