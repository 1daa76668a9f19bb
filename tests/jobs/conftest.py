import json
from datetime import timedelta

import pytest

from jobs.actions.properties import set_shape
from jobs.actions.shoots import confirm_shoot, pencil_shoot, set_time
from jobs.rules.property_shape import parse_property
from tests.cast import NOW, visit

HOUSE = {
    "levels": [
        {"number": 1, "name": "Ground floor", "grade": "at", "elevation_m": "0"},
        {"number": 2, "name": "Upper floor", "grade": "above", "elevation_m": "2.8"},
    ],
    "spaces": [
        {"code": "H", "name": "Hall", "kind": "hall", "level": 1, "private": False},
        {"code": "S", "name": "Stair", "kind": "stair", "level": 1, "private": False},
        {"code": "B", "name": "Bedroom", "kind": "room", "level": 2, "private": False},
        {"code": "C", "name": "Closet", "kind": "closet", "level": 2, "private": True},
    ],
    "openings": [
        {"code": "D1", "between": ["H", "S"], "kind": "open"},
        {"code": "D2", "between": ["S", "B"], "kind": "open"},
        {"code": "D3", "between": ["B", "C"], "kind": "door"},
    ],
    "entrance": "H",
}
WALK = """\
station,level,space,pass,pair_of,opening,ties_to,x,y
1,1,H,both,,,,,
2,1,S,both,,,,,
3,2,S,both,,,,,
4,2,B,plan,,D3,,,
5,2,C,plan,,,,,
6,2,B,tour,4,D3,4,,
"""


@pytest.fixture
def shaped_house(house, by_owner):
    return set_shape(house=house, shape=parse_property(json.dumps(HOUSE), "house"), by=by_owner, now=NOW)


@pytest.fixture
def shoot(client_of_office, shaped_house, package, by_owner):
    return pencil_shoot(
        client=client_of_office, property=shaped_house, package=package, add_ons={}, by=by_owner, now=NOW
    )


@pytest.fixture
def timed(shoot, scanner, by_owner):
    return set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=2)))


@pytest.fixture
def confirmed(timed, by_owner):
    return confirm_shoot(shoot=timed, by=by_owner, now=NOW)
