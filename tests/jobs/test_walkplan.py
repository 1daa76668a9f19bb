"""The walk plan: what it asks for, in which order, and that a walk logged as planned passes the walk check."""

import io
import json
from dataclasses import replace
from decimal import Decimal
from functools import partial
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from jobs.rules.property_shape import Level, PropertyShape
from jobs.rules.walk import Station
from jobs.rules.walkcheck import check_walk
from jobs.rules.walkplan import PlannedStation, Spacing, plan_walk
from tests import commands
from tests.jobs.houses import HOUSE, LEVELS, opening, space
from tests.jobs.test_walkcheck_command import PROPERTY, set_at

PACKAGES = ("tour", "plan", "both")


def planned(package: str = "both", shape: PropertyShape = HOUSE, **more) -> list[Station]:
    return [found.station for found in plan_walk(shape, package, **more)]


def spaces_of(stations: list[Station]) -> list[str]:
    """The spaces in the order they are come to."""
    codes = [station.space for station in stations]
    return [code for before, code in pairwise(["", *codes]) if code != before]


def shown_closed(stations: list[Station]) -> list[str]:
    return [station.opening for station in stations if station.pair_of]


def house(*spaces, openings=(), levels=LEVELS, entrance="hall") -> PropertyShape:
    return PropertyShape(levels=tuple(levels), spaces=spaces, openings=tuple(openings), entrance=entrance)


def test_the_plan_of_the_house():
    assert spaces_of(planned()) == [
        "hall", "c3", "kitchen", "garage", "kitchen", "wic", "hall", "study", "hall", "steps", "store",
    ]  # fmt: skip
    assert shown_closed(planned()) == ["d2", "d1"]


@pytest.mark.parametrize("package", PACKAGES)
def test_the_house_walked_as_planned_has_no_finding(package):
    assert check_walk(HOUSE, planned(package), package).findings == ()


def test_a_property_without_spaces_has_nothing_to_walk():
    assert plan_walk(house(entrance=""), "both") == ()


def test_branches_come_back_and_tie_in_where_the_walk_goes_on():
    ties = {station.number: (station.space, station.ties_to) for station in planned("tour") if station.ties_to}
    assert ties == {8: ("kitchen", 4), 11: ("hall", 2)}


def test_tie_ins_are_hidden_from_a_tour_that_has_a_plan_beside_it():
    assert {station.captured_for for station in planned("both") if station.ties_to} == {"plan"}
    assert {station.captured_for for station in planned("tour") if station.ties_to} == {"tour"}


def test_the_walk_ends_on_the_run_it_left():
    star = house(
        *(space(code, "room") for code in ("a", "b", "c")), space("hall", "hall"),
        openings=[opening(code, "hall", code) for code in ("a", "b", "c")],
    )  # fmt: skip
    assert spaces_of(planned("plan", star)) == ["hall", "a", "hall", "b", "hall", "c", "hall"]


def test_the_longest_run_comes_first():
    fork = house(
        space("hall", "hall"), space("near", "room"), space("far", "room"), space("farther", "room"),
        openings=[opening("d1", "hall", "near"), opening("d2", "hall", "far"), opening("d3", "far", "farther")],
    )  # fmt: skip
    assert spaces_of(planned("plan", fork))[:3] == ["hall", "far", "farther"]


def test_the_run_stays_in_the_house():
    yard = house(
        space("hall", "hall"), space("yard", "exterior"), space("den", "room"),
        openings=[opening("d1", "hall", "yard"), opening("d2", "hall", "den")],
    )  # fmt: skip
    assert spaces_of(planned("tour", yard)) == ["hall", "den", "hall", "yard", "hall"]


def test_a_tour_goes_round_what_it_does_not_show():
    ring = house(
        space("hall", "hall"), space("den", "room", private=True), space("far", "room"), space("by", "hall"),
        openings=[opening(code, *code.split("-")) for code in ("hall-den", "den-far", "hall-by", "by-far")],
    )  # fmt: skip
    assert spaces_of(planned("tour", ring)) == ["hall", "by", "far"]


def test_a_closet_is_captured_from_within_its_room():
    room = house(
        space("hall", "hall"), space("c1", "closet"), space("c2", "closet"), space("den", "room"),
        openings=[opening("d1", "hall", "c1"), opening("d2", "den", "c2"), opening("d3", "hall", "den")],
    )  # fmt: skip
    assert spaces_of(planned("plan", room)) == ["hall", "c1", "den", "c2"]


def test_a_pair_is_taken_before_going_in():
    walk = planned()
    for first, second in pairwise(walk):
        if second.pair_of:
            assert (first.captured_for, second.captured_for) == ("plan", "tour")
            assert (first.number, first.space, first.opening) == (second.pair_of, second.space, second.opening)
    after = {second.opening: walk[second.number].space for second in walk if second.pair_of}
    assert after == {"d2": "c3", "d1": "study"}


@pytest.mark.parametrize("package", ["tour", "plan"])
def test_pairs_are_for_the_package_with_both(package):
    assert shown_closed(planned(package)) == []


@pytest.mark.parametrize("kind", ["curtain", "screen"])
def test_a_curtain_within_a_bathroom_is_taken_open_and_closed(kind):
    bath = house(space("hall", "bathroom"), openings=[opening("s1", "hall", "hall", kind)])
    assert shown_closed(planned("both", bath)) == ["s1"]
    assert check_walk(bath, planned("both", bath), "both").findings == ()


def test_a_screen_before_a_shown_space_stays_open():
    bath = house(
        space("hall", "bathroom"), space("tub", "bathroom"),
        openings=[opening("s1", "hall", "tub", "screen")],
    )  # fmt: skip
    assert shown_closed(planned("both", bath)) == []


def test_an_opening_that_cannot_close_needs_no_pair():
    nook = house(space("hall", "hall"), space("c1", "closet"), openings=[opening("o1", "hall", "c1", "open")])
    assert shown_closed(planned("both", nook)) == []


def test_every_door_of_a_private_room_is_closed_for_the_tour():
    two_doors = replace(HOUSE, openings=(*HOUSE.openings, opening("d9", "kitchen", "study")))
    assert sorted(shown_closed(planned("both", two_doors))) == ["d1", "d2", "d9"]


def test_a_garage_has_its_doors_held():
    texts = [found.text for found in plan_walk(HOUSE, "both") if found.station.space == "garage"]
    assert "held still with a stop" in texts[0]


def test_a_tour_leaves_private_rooms_and_closets_out():
    assert {"study", "c3"}.isdisjoint(station.space for station in planned("tour"))


def test_a_private_room_on_the_way_is_passed_hidden():
    through = replace(HOUSE, spaces=tuple(replace(s, private=s.code == "kitchen") for s in HOUSE.spaces))
    kitchen = [station for station in planned("tour", through) if station.space == "kitchen"]
    assert {station.captured_for for station in kitchen} == {"plan"}


def test_the_exterior_is_for_the_tour_alone_and_off_the_run():
    yard = replace(
        HOUSE,
        spaces=(*HOUSE.spaces, space("yard", "exterior")),
        openings=(*HOUSE.openings, opening("d9", "hall", "yard")),
    )
    assert "yard" not in spaces_of(planned("plan", yard))
    assert {s.captured_for for s in planned("both", yard) if s.space == "yard"} == {"tour"}
    assert spaces_of(planned("both", yard))[:4] == ["hall", "c3", "kitchen", "garage"]


TOWER = house(
    *(space(f"hall{n}" if n != 3 else "hall", "hall", n) for n in range(1, 6)),
    *(space(f"stair{n}", "stair", n) for n in range(1, 5)),
    levels=[Level(number=n, name="", grade="at", elevation_m=Decimal(3 * n)) for n in range(1, 6)],
)


def test_stairs_go_down_before_up():
    assert spaces_of(planned("plan", TOWER)) == [
        "hall", "stair2", "hall2", "stair1", "hall1", "hall", "stair3", "hall4", "stair4", "hall5",
    ]  # fmt: skip
    assert check_walk(TOWER, planned("both", TOWER), "both").findings == ()
    turned = replace(TOWER, spaces=TOWER.spaces[::-1])
    assert spaces_of(planned("plan", turned)) == spaces_of(planned("plan", TOWER))


def test_a_stair_listed_without_openings_is_taken_to_lead_to_a_room_that_is_shown():
    private_first = house(
        space("study", "hall", private=True), space("bed", "room"),
        space("hall", "hall", 1), space("stair", "stair", 1),
        openings=[opening("d", "study", "bed")],
    )  # fmt: skip
    assert spaces_of(planned("plan", private_first)) == ["hall", "stair", "bed", "study"]


def test_without_an_entrance_the_walk_starts_on_the_ground_floor():
    unknown = replace(HOUSE, entrance="", spaces=HOUSE.spaces[::-1])
    assert planned("plan", unknown)[0].space == "hall"


def test_steps_keep_the_level_they_leave_until_the_arrival():
    down = [station.level for station in planned("plan", TOWER) if station.space == "stair2"]
    up = [station.level for station in planned("plan", TOWER) if station.space == "stair3"]
    assert (set(down), set(up)) == ({3}, {3})


def test_a_second_stair_closes_a_loop():
    two_ways = replace(
        HOUSE, spaces=(*HOUSE.spaces, space("back", "stair", 1)),
        openings=(*HOUSE.openings, opening("o8", "kitchen", "back", "open"), opening("o9", "back", "store", "open")),
    )  # fmt: skip
    walk = planned("plan", two_ways)
    assert spaces_of(walk)[-3:] == ["store", "back", "kitchen"]
    assert walk[-1].ties_to is not None


def test_rooms_off_the_stairs_themselves_are_begun_from_the_stairs():
    landing = house(
        space("hall", "hall", 1), space("stair", "stair", 1), space("bed", "room"), space("bath", "bathroom"),
        openings=[opening("o", "hall", "stair", "open"), opening("d1", "stair", "bed"), opening("d2", "stair", "bath")],
    )  # fmt: skip
    walk = planned("both", landing)
    assert spaces_of(walk) == ["hall", "stair", "bed", "stair", "bath"]
    assert check_walk(landing, walk, "both").findings == ()


def test_a_closet_under_the_stairs_waits_until_the_level_above_is_begun():
    under = house(
        space("c1", "closet", 1), space("hall", "hall", 1), space("stair", "stair", 1), space("bed", "room"),
        openings=[opening("o1", "hall", "stair", "open"), opening("d1", "stair", "c1"), opening("d2", "stair", "bed")],
    )  # fmt: skip
    walk = planned("both", under)
    assert spaces_of(walk) == ["hall", "stair", "bed", "stair", "c1"]
    assert check_walk(under, walk, "both").findings == ()


def test_a_door_at_the_foot_of_the_stairs_is_closed_before_going_up():
    two_doors = house(
        space("hall", "hall", 1), space("stair", "stair", 1), space("bed", "room"),
        space("study", "room", 1, private=True),
        openings=[
            opening("d1", "hall", "study"), opening("d2", "stair", "study"),
            opening("o1", "hall", "stair", "open"), opening("o2", "stair", "bed", "open"),
        ],
    )  # fmt: skip
    on_stair = [station.opening for station in planned("both", two_doors) if station.space == "stair"]
    assert on_stair == ["d2", "d2", None, None, None]


def test_what_nothing_leads_to_comes_last_and_says_so():
    cut_off = replace(HOUSE, spaces=(space("shed", "utility"), *HOUSE.spaces))
    plan = plan_walk(cut_off, "plan")
    assert plan[-1].station.space == "shed"
    assert plan[-1].text.startswith("Nothing listed leads to Shed")


def test_an_entrance_on_the_stairs():
    flat = house(
        space("steps", "stair", 1), space("landing", "hall"), openings=[opening("o1", "steps", "landing", "open")],
        entrance="steps",
    )  # fmt: skip
    assert spaces_of(planned("both", flat)) == ["steps", "landing"]
    assert check_walk(flat, planned("both", flat), "both").findings == ()


@pytest.mark.parametrize(("area", "count"), [("0.01", 1), ("4", 1), ("4.01", 2), ("12.00", 3), ("30.5", 8)])
def test_stations_by_area_and_spacing(area, count):
    walk = planned("plan", areas={"garage": Decimal(area)})
    assert sum(station.space == "garage" for station in walk) == count


def test_a_walk_in_closet_takes_two_however_small():
    walk = planned("plan", areas={"wic": Decimal("1.2")})
    assert sum(station.space == "wic" for station in walk) == 2


@pytest.mark.parametrize("areas", [{"wic": Decimal(0)}, {"wic": Decimal(-1)}, {"wic": Decimal(100_001)}])
def test_areas_are_more_than_zero(areas):
    with pytest.raises(ValueError, match="expected areas"):
        plan_walk(HOUSE, "plan", areas=areas)


@pytest.mark.parametrize("spacing", [Spacing(metres=Decimal(0)), Spacing(on_stairs=0)])
def test_a_spacing_is_more_than_zero(spacing):
    with pytest.raises(ValueError, match="expected a spacing"):
        plan_walk(HOUSE, "plan", spacing)


SHOWN = ("room", "hall", "kitchen", "bathroom", "garage", "utility", "walk_in_closet", "porch")
CLOSABLE = ("door", "curtain", "screen", "garage_door", "open")


@st.composite
def houses(draw) -> PropertyShape:
    """Houses that a tour can show whole: the shown spaces of a level hang together, stairs join the levels.

    Closets and private rooms hang off anything, more openings lead anywhere on a level, and stairs may be listed
    without openings.
    """
    levels = draw(st.integers(1, 4))
    spaces, openings, shown_on = [], [], {}

    def add_opening(one: str, other: str) -> None:
        openings.append(opening(f"d{len(openings)}", one, other, draw(st.sampled_from(CLOSABLE))))

    def add_space(kind: str, level: int, beside: list[str], *, private: bool = False) -> str:
        code = f"s{len(spaces)}"
        spaces.append(space(code, kind, level, private=private))
        if beside:
            add_opening(code, draw(st.sampled_from(beside)))
        return code

    for level in range(1, levels + 1):
        shown = shown_on[level] = []
        for _ in range(draw(st.integers(1, 5))):
            shown.append(add_space(draw(st.sampled_from(SHOWN)), level, shown))
        anything = list(shown)
        for _ in range(draw(st.integers(0, 4))):
            kind, private = draw(
                st.sampled_from([("closet", False), ("room", True), ("closet", True), ("exterior", False)])
            )
            anything.append(add_space(kind, level, shown if kind == "exterior" else anything, private=private))
        for _ in range(draw(st.integers(0, 2))):
            add_opening(draw(st.sampled_from(anything)), draw(st.sampled_from(anything)))
    for level in range(1, levels):
        for _ in range(draw(st.integers(1, 2))):
            stair = add_space("stair", level, [])
            for end in (level, level + 1):
                if draw(st.booleans()):
                    add_opening(stair, draw(st.sampled_from(shown_on[end])))
    return PropertyShape(
        levels=tuple(Level(number=n, name="", grade="at", elevation_m=Decimal(3 * n)) for n in range(1, levels + 1)),
        spaces=tuple(draw(st.permutations(spaces))),
        openings=tuple(openings),
        entrance=draw(st.sampled_from([code for codes in shown_on.values() for code in codes])),
    )


any_house = given(houses(), st.sampled_from(PACKAGES))
unhurried = settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow], deadline=None)


@unhurried
@any_house
def test_a_walk_logged_as_planned_lacks_nothing(shape, package):
    assert check_walk(shape, planned(package, shape), package).findings == ()


@unhurried
@any_house
def test_every_plan_is_one_that_can_be_walked(shape, package):
    walk = planned(package, shape)
    assert [station.number for station in walk] == list(range(1, len(walk) + 1))
    assert walk[0].space == shape.entrance
    for before, station in pairwise(walk):
        met = walk[station.ties_to - 1] if station.ties_to else None
        assert met is None or (met.number < station.number and met.space == station.space)
        assert not station.pair_of or (before.number, before.space) == (station.pair_of, station.space)
        goes_on = before.space == station.space or station.space in _beside(shape, before.space)
        out_of_a_closet = shape.space_by_code[before.space].kind == "closet"
        assert goes_on or met or out_of_a_closet or _by_an_unlisted_stair(shape, before, station)


def _beside(shape: PropertyShape, code: str) -> set[str]:
    return {near.space.code for near in shape.neighbours(code)}


def _by_an_unlisted_stair(shape: PropertyShape, before: Station, station: Station) -> bool:
    return "stair" in {shape.space_by_code[code].kind for code in (before.space, station.space)}


@unhurried
@any_house
def test_every_instruction_is_one_sentence(shape, package):
    for found in plan_walk(shape, package):
        assert isinstance(found, PlannedStation)
        assert found.text[0].isupper()
        assert found.text.endswith(".")
        assert ". " not in found.text


run = partial(commands.run, "walkplan")


@pytest.fixture
def written(tmp_path):
    def write(content, name: str = "property.json") -> str:
        (tmp_path / name).write_text(json.dumps(content), encoding="utf-8")
        return str(tmp_path / name)

    return write


def test_the_command_prints_the_plan(capsys, written):
    status, out, err = run(capsys, written(PROPERTY), "--package", "both", "--json")
    assert (status, err) == (0, "")
    stations = json.loads(out)["stations"]
    assert len(stations) == len(planned())
    assert stations[3] == {
        "station": 4, "level": 2, "space": "hall", "pass": "tour", "pair_of": 3, "opening": "d2", "ties_to": None,
        "text": "On the same spot, move nothing but the door to Closet 3: close it and capture for the tour.",
    }  # fmt: skip


def test_the_command_prints_a_table_for_people(capsys, written):
    status, out, _ = run(capsys, written(PROPERTY), "--package", "plan")
    assert status == 0
    assert out.startswith(
        "   1    2  plan  Start at the entrance: set the first one in Hall, with the outer door closed.\n"
    )


def test_the_command_takes_areas_and_spacing(capsys, written):
    args = (written(PROPERTY), "--package", "plan", "--areas", written({"garage": "36.0"}, "areas.json"), "--json")
    counts = []
    for spacing in ("2", "3"):
        stations = json.loads(run(capsys, *args, "--spacing", spacing)[1])["stations"]
        counts.append(sum(station["space"] == "garage" for station in stations))
    assert counts == [9, 4]


def test_a_property_on_standard_input(capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(json.dumps(PROPERTY).encode())))
    assert run(capsys, "-", "--package", "tour")[0] == 0


@pytest.mark.parametrize(
    ("extra", "named"),
    [
        ((), "--package: expected"),
        (("--package", "all"), "--package: expected tour, plan or both"),
        (("--package", "both", "--spacing", "0"), "--spacing: expected more than zero"),
        (("--package", "both", "--spacing", "NaN"), "--spacing: expected a decimal"),
        (("--package", "both", "--spacing", "0.49"), "--spacing: expected metres from 0.5 to 10"),
        (("--package", "both", "--spacing", "11"), "--spacing: expected metres from 0.5 to 10"),
        (("--package", "both", "--areas", "nowhere.json"), "nowhere.json: expected a readable file"),
    ],
)
def test_arguments_are_refused_in_one_line(capsys, written, extra, named):
    status, out, err = run(capsys, written(PROPERTY), *extra)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(named)


@pytest.mark.parametrize(
    ("areas", "named"),
    [
        ({"loft": "12.0"}, "loft: unknown space"),
        ({"garage": 12}, "garage: expected a decimal in a string"),
        ({"garage": "-1"}, "garage: expected more than zero"),
        ({"garage": "100000.1"}, "garage: expected at most 100000 m²"),
        ([], "expected"),
    ],
)
def test_areas_that_do_not_fit_are_refused(capsys, written, areas, named):
    source = written(areas, "areas.json")
    status, out, err = run(capsys, written(PROPERTY), "--package", "both", "--areas", source)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(f"{source}: {named}")


def test_a_property_that_does_not_fit_is_refused(capsys, written):
    source = written(set_at(("entrance",), "loft"))
    status, _, err = run(capsys, source, "--package", "both")
    assert (status, err) == (2, f"{source}: entrance: expected the code of a space, found 'loft'\n")
