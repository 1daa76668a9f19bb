"""Traverses against published adjustments by the compass rule."""

import json
from decimal import Decimal

import pytest

from jobs.rules.traverse import (
    Course,
    adjusted,
    closure,
    corrections,
    linear_misclosure,
    relative_precision,
    total_length,
)

PRINTED = Decimal("0.0001")


@pytest.fixture(scope="module")
def traverses(checks):
    found = json.loads((checks / "traverse/compass_rule.json").read_text(encoding="utf-8"))
    assert len(found) == 3
    return found


def courses_of(traverse) -> list[Course]:
    columns = (traverse["latitude"], traverse["departure"], traverse["distance"])
    return [Course(*map(Decimal, course)) for course in zip(*columns, strict=True)]


def near(found: Decimal, expected: str | None, within: Decimal) -> bool:
    return expected is None or abs(found - Decimal(expected)) <= within


def test_closures_and_lengths(traverses):
    for traverse in traverses:
        courses, expected = courses_of(traverse), {**traverse["expected"], **traverse["published"]}
        assert total_length(courses) == Decimal(expected["total_length"])
        assert closure(courses) == (Decimal(expected["closure_latitude"]), Decimal(expected["closure_departure"]))
        assert near(linear_misclosure(courses), expected["linear_misclosure"], Decimal("0.0000005"))


@pytest.mark.parametrize(("source", "within"), [("expected", Decimal("0.0000005")), ("published", PRINTED)])
def test_corrections_and_adjusted_courses(traverses, source, within):
    for traverse in traverses:
        courses = courses_of(traverse)
        for kind, offsets in (("corrections", corrections(courses)), ("adjusted", adjusted(courses))):
            for axis, values in zip(("latitude", "departure"), zip(*offsets, strict=True), strict=True):
                for value, expected in zip(values, traverse[source].get(f"{kind}_{axis}", []), strict=False):
                    assert near(value, expected, within), (traverse["name"], kind, axis)


def test_the_published_corrections_were_all_compared(traverses):
    assert [len(traverse["published"].get("corrections_latitude", [])) for traverse in traverses] == [4, 0, 0]


def test_relative_precision(traverses):
    # total length 1347.57 ft over 0.111866 ft, both in the course's own table: about 1 in 12,000
    assert round(relative_precision(courses_of(traverses[2]))) == 12046
