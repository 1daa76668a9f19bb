"""The phone's own walk check and numbering, held to the office's on many walks, in the browser they run in."""

import random
from dataclasses import asdict, replace

import pytest

from jobs.rules.first_shape import FirstFacts, first_shape
from jobs.rules.property_shape import PropertyShape
from jobs.rules.station_numbers import given_number
from jobs.rules.walk import Station
from jobs.rules.walkcheck import check_walk
from jobs.rules.walkplan import plan_walk

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.browser]
WALKS = 400
ON_THE_PHONE = {
    "station-gap", "space-not-captured", "closet-thin", "pair-missing", "tie-in-off", "stair-chain", "shown-private",
    "tour-in-pieces",
}  # fmt: skip
"""What can be judged without coordinates and is not ruled out by how the log is kept."""


@pytest.fixture
def modules(browser, live_server):
    """A page of the program from which its modules can be imported."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{live_server.url}/field/shell/")
    yield page
    context.close()


def house(chance: random.Random) -> PropertyShape:
    """An invented house, with some spaces private, a shower screen, and some doors always open."""
    shape = first_shape(
        FirstFacts(
            levels=chance.randint(1, 3), bedrooms=chance.randint(0, 4), bathrooms=chance.randint(0, 2),
            walk_in_closets=chance.randint(0, 2), basement=chance.random() < 0.4, garage=chance.random() < 0.5,
        )
    )  # fmt: skip
    spaces = tuple(replace(space, private=chance.random() < 0.12) for space in shape.spaces)
    openings = tuple(
        replace(opening, kind=chance.choice(["door", "open", "curtain"])) if chance.random() < 0.2 else opening
        for opening in shape.openings
        if chance.random() > 0.04
    )
    return replace(shape, spaces=spaces, openings=openings)


def walk(shape: PropertyShape, package: str, chance: random.Random) -> list[Station]:
    """A planned walk with mistakes: stations left out, in the wrong space, of the wrong pass, pairs and ties lost."""
    walked = [planned.station for planned in plan_walk(shape, package)]
    carelessness = chance.choice([0, 0.02, 0.1, 0.4])
    stations = []
    for station in walked:
        if chance.random() < carelessness:
            continue
        changed = {}
        if chance.random() < carelessness:
            changed["captured_for"] = chance.choice(["plan", "tour", "both"])
        if chance.random() < carelessness:
            space = chance.choice(shape.spaces)
            changed |= {"space": space.code, "level": chance.choice(shape.levels_of(space))}
        if chance.random() < carelessness:
            changed["pair_of"] = chance.choice([None, station.number, chance.randint(1, len(walked))])
        if chance.random() < carelessness:
            changed["ties_to"] = chance.choice([None, station.number, chance.randint(1, len(walked))])
        if chance.random() < carelessness and shape.openings:
            changed["opening"] = chance.choice([None, chance.choice(shape.openings).code])
        stations.append(replace(station, **changed))
    return stations[: chance.randint(0, len(stations))] if chance.random() < 0.3 else stations


def as_the_phone_keeps_it(station: Station) -> dict:
    return {
        "uuid": str(station.number), "number": station.number, "level": station.level, "space": station.space,
        "pass": station.captured_for, "pair_of": station.pair_of, "opening": station.opening,
        "ties_to": station.ties_to, "note": "",
    }  # fmt: skip


def shape_json(shape: PropertyShape) -> dict:
    plain = asdict(shape)
    for level in plain["levels"]:
        level["elevation_m"] = str(level["elevation_m"])
    return plain


def places(findings) -> set[tuple]:
    return {(found["code"], found["severity"], found["space"], found["station"]) for found in findings}


def test_the_phone_finds_what_the_office_finds(modules):
    chance = random.Random(2027)
    cases = []
    for _ in range(WALKS):
        shape, package = house(chance), chance.choice(["tour", "plan", "both"])
        cases.append((shape, walk(shape, package, chance), package))
    sent = [[shape_json(shape), list(map(as_the_phone_keeps_it, walked)), package] for shape, walked, package in cases]
    answers = modules.evaluate(
        """async (cases) => {
            const { check } = await import("/static/js/field/check.js");
            return cases.map(([shape, stations, ordered]) => check(shape, stations, ordered));
        }""",
        sent,
    )
    seen = set()
    for (shape, walked, package), answer in zip(cases, answers, strict=True):
        office = [asdict(found) for found in check_walk(shape, walked, package).findings if found.code in ON_THE_PHONE]
        seen |= {found["code"] for found in office}
        assert places(answer) == places(office), (package, walked)
    assert seen == ON_THE_PHONE


def test_the_phone_numbers_as_the_office_does(modules):
    chance = random.Random(5)
    cases = []
    for _ in range(500):
        taken = chance.sample(range(1, 15), chance.randint(0, 10))
        cases.append([chance.randint(1, 16), taken, chance.choice([None, *taken])])
    answers = modules.evaluate(
        """async (cases) => {
            const { givenNumber } = await import("/static/js/field/walk.js");
            return cases.map(([proposed, taken, after]) => givenNumber(proposed, new Set(taken), after));
        }""",
        cases,
    )
    assert answers == [given_number(proposed, set(taken), after) for proposed, taken, after in cases]


def test_a_walk_logged_as_planned_has_done_every_step(modules):
    chance = random.Random(9)
    cases = []
    for _ in range(60):
        shape, package = house(chance), chance.choice(["tour", "plan", "both"])
        plan = plan_walk(shape, package)
        steps = [{"step": p.station.number, **as_the_phone_keeps_it(p.station), "text": p.text} for p in plan]
        cases.append([steps, [as_the_phone_keeps_it(p.station) for p in plan]])
    left = modules.evaluate(
        """async (cases) => {
            const { nextStep } = await import("/static/js/field/walk.js");
            return cases.map(([plan, stations]) => nextStep(plan, stations, []).left);
        }""",
        cases,
    )
    assert left == [0] * len(cases)
