"""What the plan check makes of the words on a plan: labels, names, areas, contact details."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from deliverables.rules.plan.areas_text import claimed_total, written_areas
from deliverables.rules.plan.contact import shown_in
from deliverables.rules.plan.names import ExpectedNames, ExpectedSpace, missing_names, words_of
from deliverables.rules.plan.words import Word, labels_of, lines_of

SAME_NAMES = (
    # common practice, no source: how one room is written by different drafters
    (
        "Bedroom 2",
        "BEDROOM 2",
        "Bed 2",
        "BR2",
        "BR 2",
        "B/R 2",
        "BDRM #2",
        "2nd Bedroom",
        "Second bedroom",
        "Bedroom II",
    ),
    ("Bathroom", "BATH", "Bth", "BA", "bath room"),
    ("Primary bedroom", "MASTER BR", "Primary Bed", "MBR", "Principal bedroom"),
    ("Walk-in closet", "W.I.C.", "WIC", "WALK IN CL", "Walkin closet"),
    ("Living room", "LIVING", "Liv. Rm", "LIVING\nROOM"),
    ("First floor", "1ST FLOOR", "1st Flr", "Floor 1", "Level 1", "LEVEL ONE", "L1", "First storey"),
    ("Ground floor", "GROUND FLR", "GF", "Grd. Fl.", "GROUND LEVEL", "Ground-floor"),
    ("Basement", "BSMT", "bsmt."),
    ("Küche", "KUCHE", "Ku\u0308che"),
    ("Garage", "GAR", "GARAGE\n20'-0\" × 22'-4\"", "Garage 41.5 m²"),
    ("En-suite", "ENSUITE", "En suite", "ENS."),
    ("WC", "W.C.", "w/c", "Toilet"),
    ("Utility room", "UTIL", "UTILITY RM"),
    ("Stairs", "UP", "DN", "Staircase"),
)
DIFFERENT_NAMES = (
    ("Bedroom 2", "Bedroom 3"),
    ("Bedroom 2", "Bathroom 2"),
    ("First floor", "Second floor"),
    ("Ground floor", "First floor"),
    ("Bedroom 12", "Bedroom 12'-4\" × 10'-0\""),
    ("Room 2", "Room 3"),
    ("Hall", "Wall"),
)


def names(*spaces, levels=()):
    return ExpectedNames(levels, tuple(ExpectedSpace(space) for space in spaces))


def missed(*spaces, on):
    return [space.name for space in missing_names(names(*spaces), on).spaces]


@pytest.mark.parametrize("ways", SAME_NAMES, ids=lambda ways: ways[0])
def test_one_name_is_known_however_it_is_written(ways):
    for expected in ways[:1]:
        assert [way for way in ways if missed(expected, on=[way])] == []
    assert len({tuple(words_of(way)) for way in ways}) == 1


@pytest.mark.parametrize(("expected", "shown"), DIFFERENT_NAMES)
def test_different_names_are_kept_apart(expected, shown):
    assert missed(expected, on=[shown]) == [expected]


def test_a_name_expected_twice_must_be_shown_twice():
    assert missed("Bathroom", "Bathroom", on=["BATH", "Kitchen"]) == ["Bathroom"]
    assert missed("Bathroom", "Bathroom", on=["BATH", "Kitchen", "BATH"]) == []


def test_the_longer_name_takes_its_label_first():
    assert missed("Bedroom", "Bedroom 2", on=["Bedroom 2"]) == ["Bedroom"]
    assert missed("Bedroom", "Bedroom 2", on=["Bedroom 2", "Bedroom"]) == []


def test_names_are_not_put_together_from_different_labels():
    assert missed("Bedroom 2", on=["BEDROOM", "2 CAR GARAGE"]) == ["Bedroom 2"]


def test_a_title_may_say_more_than_the_levels_name():
    assert missing_names(names(levels=("Ground floor",)), ["GROUND FLOOR PLAN 1:100"]).levels == ()


words = st.lists(
    st.sampled_from(("Kitchen", "Hall", "Bedroom", "Bath", "Study", "Attic", "Cellar", "1", "2")), max_size=6
)


@given(st.lists(words.map(" ".join), max_size=8))
def test_what_is_shown_as_it_is_named_is_never_missing(all_names):
    assert missed(*all_names, on=all_names) == []


@given(st.lists(words.map(" ".join), max_size=6), st.lists(st.text(max_size=40), max_size=6))
def test_more_labels_never_make_more_missing(all_names, more):
    assert len(missed(*all_names, on=more)) >= len(missed(*all_names, on=[*more, *all_names]))


@given(st.text(max_size=200))
def test_any_text_has_words(text):
    assert all(isinstance(word, str) for word in words_of(text))


def test_endless_digits_are_words_too():
    assert words_of("9" * 5000) == ["9" * 5000]
    assert written_areas(["9" * 5000 + " m²", "0 m² (0 sq ft)"]) == []


SQFT = Fraction(Decimal("0.09290304"))  # NIST SP 811, appendix B.8: square foot to square metre, exact


@pytest.mark.parametrize(
    ("text", "square_metres"),
    [
        ("1,234 sq ft", 1234 * SQFT),
        ("1234 SF", 1234 * SQFT),
        ("1,234.5 sq. ft.", Fraction("1234.5") * SQFT),
        ("950ft²", 950 * SQFT),
        ("950 ft2", 950 * SQFT),
        ("1,234 square feet", 1234 * SQFT),
        ("114.6 m²", Fraction("114.6")),
        ("114,6 m2", Fraction("114.6")),
        ("1.234,5 m²", Fraction("1234.5")),
        ("1\u202f234 m²", Fraction(1234)),
        ("Area: 1 234 m²", Fraction(1234)),
        ("Bedroom 2 114 sq ft", 114 * SQFT),
        ("114.6 sq m", Fraction("114.6")),
        ("114.6 sqm", Fraction("114.6")),
        ("114.6 square metres", Fraction("114.6")),
        ("114.6 square meters", Fraction("114.6")),
    ],
)
def test_an_area_is_read_exactly(text, square_metres):
    assert [area.area_m2 for area in written_areas([text])] == [square_metres]


def test_one_area_in_two_units_is_one_area():
    assert [area.text for area in written_areas(["Total 1,234 sq ft (114.6 m²)"])] == ["1,234 sq ft"]


@pytest.mark.parametrize(
    "text", ["12 x 10", "1:100", "2 m", "3.76 × 3.05 m", "m²", "-", "sq ft 100", "Scale 1 / 50 m2x"]
)
def test_what_is_no_area_is_not_read_as_one(text):
    assert written_areas([text]) == []


@given(st.integers(1, 999_999), st.sampled_from((" m²", " sq ft", " sqm", " SF")), st.booleans())
def test_whole_areas_are_read_back(number, unit, grouped):
    found = written_areas([f"{number:,}{unit}" if grouped else f"{number}{unit}"])
    assert [area.area_m2 for area in found] == [number * (1 if "m" in unit else SQFT)]


def test_a_total_goes_before_the_areas_of_rooms():
    areas = written_areas(["Kitchen 12 m²", "Hall 8 m²", "TOTAL FLOOR AREA\n110 m²"])
    assert claimed_total(areas, Fraction(20)).area_m2 == 110


def test_figures_without_a_total_may_be_summed():
    areas = written_areas(["Ground floor 60 m²", "First floor 54 m²"])
    assert claimed_total(areas, Fraction(114)).area_m2 == 114
    assert claimed_total([], Fraction(114)) is None


@pytest.mark.parametrize(
    ("contact", "text"),
    [
        ("+1 (312) 555-0148", "Call 312.555.0148 today"),
        ("312 555 0148", "+1 312 555 0148"),
        ("+44 20 7946 0018", "Tel 020 7946 0018"),
        ("ann@example.org", "ANN@EXAMPLE.ORG"),
        ("ann@example.org", "mailto:ann@example.org"),
        ("https://www.example.org/ann", "see example.org/ann"),
        ("Ann Éxample", "listed by ANN EXAMPLE, broker"),
    ],
)
def test_a_contact_is_known_however_it_is_written(contact, text):
    assert shown_in(contact, ["Kitchen", text])


@pytest.mark.parametrize(
    ("contact", "text"),
    [
        ("312 555 0148", "312 555 0149"),
        ("Ann", "Annexe"),
        ("ann@example.org", "joann@example.org"),
        ("Ann Example", "Example Ann"),
        ("A", "A"),
        ("Bob", ""),
    ],
)
def test_another_text_is_no_contact(contact, text):
    assert not shown_in(contact, [text])


def test_names_and_dimensions_one_under_another_are_one_label():
    drawn = (
        Word("LIVING", 100, 400, 132, 407),
        Word("HALL", 150, 400, 175, 407),
        Word("ROOM", 105, 388, 135, 395),
        Word("12'-4\"", 104, 376, 130, 383),
    )
    assert sorted(labels_of(lines_of(drawn))) == ["HALL", "LIVING\nROOM\n12'-4\""]


def test_pieces_of_a_word_are_joined_and_pieces_of_a_line_spaced():
    drawn = (Word("Bed", 600, 300, 617, 307), Word("room", 617.5, 300, 640, 307), Word("3", 642, 300, 646, 307))
    assert [line.text for line in lines_of(drawn)] == ["Bedroom 3"]


def test_text_that_runs_up_the_page_is_stacked_across_it():
    drawn = (Word("LIVING", 100, 300, 107, 332), Word("ROOM", 112, 300, 119, 330))
    assert labels_of(lines_of(drawn)) == ["LIVING\nROOM"]
