"""`manage.py area`: what it answers, and that a plan that does not fit is refused in one line."""

import copy
import io
import json
from functools import partial

import pytest
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from deliverables.rules.area import Rule
from tests import commands
from tests.deliverables.square_plans import SQUARE, part, plan, square

EXCLUDED = ("garage", "porch", "open_below", "low_ceiling", "not_connected")


@pytest.fixture
def written(tmp_path):
    def write(content) -> str:
        path = tmp_path / "plan.json"
        path.write_bytes(content if isinstance(content, bytes) else json.dumps(content).encode())
        return str(path)

    return write


run = partial(commands.run, "area")


def test_the_answer_for_machines(written, capsys):
    status, out, err = run(capsys, written(plan(part(), part("garage", square(10)))), "--rule=ansi-z765", "--json")
    assert (status, err) == (0, "")
    answer = json.loads(out)
    nothing = {"sqft": "0", "m2": "0.00"}
    areas = {
        "above_grade_finished": {"sqft": "100", "m2": "9.29"},
        "below_grade_finished": nothing,
        "unfinished": nothing,
        "excluded": dict.fromkeys(EXCLUDED, nothing) | {"garage": {"sqft": "100", "m2": "9.29"}},
    }
    assert answer["levels"] == [{"number": 1, **areas}]
    assert answer["totals"] == areas
    assert set(answer) == {"levels", "totals", "notes"}


def test_the_table_for_people(written, capsys):
    _, out, _ = run(capsys, written(plan(part(), part("porch", square(10)))), "--rule=as-drawn")
    assert "  above grade, finished             100.00          9.29" in out
    assert "  left out: porch                   100.00          9.29" in out
    assert "left out: garage" not in out
    assert "Approximate" in out


@pytest.mark.parametrize("rule", [(), ("--rule=ansi",), ("--rule=",)])
def test_a_rule_must_be_named(written, capsys, rule):
    status, out, err = run(capsys, written(plan(part())), *rule)
    assert (status, out, err) == (2, "", "--rule: expected one of ansi-z765, ipms-3b, as-drawn\n")


def changed(path: tuple, value) -> dict:
    """A plan of two parts side by side, with one thing in it set to `value`."""
    content = copy.deepcopy(plan(part(), part("stair", square(10))))
    inner = content
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    return content


PART = ("levels", 0, "parts", 0)
AT = "levels[0].parts[0]."
BOWTIE = [[0, 0], [10, 10], [10, 0], [0, 10]]
NAN = float("nan")


@pytest.mark.parametrize(
    ("path", "value", "named"),
    [
        (("unit",), "yd", "unit: expected"),
        (("unit",), None, "unit: expected"),
        (("levels",), [], "levels: "),
        (("levels",), {}, "levels: "),
        (("levels", 0), "Ground", "levels[0]: "),
        (("levels", 0, "number"), 0, "levels[0].number: "),
        (("levels", 0, "number"), "1", "levels[0].number: "),
        (("levels", 0, "number"), 1.5, "levels[0].number: "),
        (("levels", 0, "number"), True, "levels[0].number: "),
        (("levels", 0, "number"), 10**30, "levels[0].number: "),
        (("levels", 0, "name"), 1, "levels[0].name: "),
        (("levels", 0, "grade"), "under", "levels[0].grade: "),
        (("levels", 0, "parts"), [], "levels[0].parts: "),
        (("levels", 0, "extra"), 1, "levels[0].extra: unknown key"),
        ((*PART, "kind"), "attic", AT + "kind: expected"),
        ((*PART, "sloped"), "false", AT + "sloped: "),
        ((*PART, "connected"), 1, AT + "connected: "),
        ((*PART, "polygon"), [], AT + "polygon: "),
        ((*PART, "polygon"), [[0, 0], [10, 0]], AT + "polygon: "),
        ((*PART, "polygon"), [[0, 0], [5, 0], [10, 0]], AT + "polygon: expected a polygon that encloses"),
        ((*PART, "polygon"), [[0, 0], [0, 0], [0, 0]], AT + "polygon: expected a polygon of three corners"),
        ((*PART, "polygon"), BOWTIE, AT + "polygon: expected a polygon that neither crosses"),
        ((*PART, "polygon"), [*SQUARE, [5, 0]], AT + "polygon: expected a polygon that neither"),
        ((*PART, "polygon"), square() * 200, AT + "polygon: "),
        ((*PART, "polygon", 2), [10], AT + "polygon[2]: expected a point [x, y]"),
        ((*PART, "polygon", 2), [10, 10, 0], AT + "polygon[2]: expected a point [x, y]"),
        ((*PART, "polygon", 2), {"x": 1}, AT + "polygon[2]: expected a point [x, y]"),
        ((*PART, "polygon", 2), [NAN, 10], AT + "polygon[2]: expected a number"),
        ((*PART, "polygon", 2), [float("inf"), 10], AT + "polygon[2]: expected a number"),
        ((*PART, "polygon", 2), [10**400, 10], AT + "polygon[2]: expected a number"),
        ((*PART, "polygon", 2), [1e300, 10], AT + "polygon[2]: expected a number"),
        ((*PART, "polygon", 2), ["10", 10], AT + "polygon[2]: expected a number, found '10'"),
        ((*PART, "polygon", 2), [True, 10], AT + "polygon[2]: expected a number, found True"),
        ((*PART, "ceiling"), [], AT + "ceiling: "),
        ((*PART, "ceiling"), None, AT + "ceiling: "),
        ((*PART, "ceiling", 0, "height"), 0, AT + "ceiling[0].height: expected a height above zero"),
        ((*PART, "ceiling", 0, "height"), -8, AT + "ceiling[0].height: expected a height above zero"),
        ((*PART, "ceiling", 0, "height"), NAN, AT + "ceiling[0].height: expected a number"),
        ((*PART, "ceiling", 0, "height"), "8", AT + "ceiling[0].height: expected a number"),
        ((*PART, "ceiling", 0, "polygon"), BOWTIE, AT + "ceiling[0].polygon: expected a polygon that"),
        ((*PART, "ceiling", 0, "polygon"), square(0, 0, 9.9), AT + "ceiling: expected ceilings that cover"),
        ((*PART, "ceiling", 0, "polygon"), square(20), AT + "ceiling: expected ceilings that cover"),
    ],
)  # fmt: skip
def test_a_plan_that_does_not_fit_is_refused_by_key_path(written, capsys, path, value, named):
    source = written(changed(path, value))
    status, out, err = run(capsys, source, "--rule=ansi-z765", "--json")
    assert (status, out) == (2, "")
    assert err.startswith(f"{source}: {named}")
    assert err.count("\n") == 1


@pytest.mark.parametrize("depth", [(), ("levels", 0), PART, (*PART, "ceiling", 0)])
def test_every_missing_key_is_named(written, capsys, depth):
    def inside(content):
        for key in depth:
            content = content[key]
        return content

    for key in list(inside(plan(part()))):
        content = copy.deepcopy(plan(part()))
        del inside(content)[key]
        source = written(content)
        status, out, err = run(capsys, source, "--rule=as-drawn")
        assert (status, out) == (2, "")
        assert err.endswith(f"{key}: expected this key\n")


def test_parts_that_overlap_are_both_named(written, capsys):
    source = written(plan(part(), part("garage", square(20)), part("stair", square(9.9))))
    status, out, err = run(capsys, source, "--rule=ansi-z765")
    assert (status, out) == (2, "")
    assert err == (
        f"{source}: levels[0].parts: expected parts that do not overlap, "
        "found parts[0] (living) and parts[2] (stair) one over the other\n"
    )


def test_a_part_inside_another_overlaps_it(written, capsys):
    assert run(capsys, written(plan(part(), part("stair", square(4, 4, 2)))), "--rule=ansi-z765")[0] == 2


def test_parts_over_one_another_on_two_levels_do_not_overlap(written, capsys):
    two = plan(part())
    two["levels"].append({**two["levels"][0], "number": 2})
    assert run(capsys, written(two), "--rule=ansi-z765")[0] == 0
    two["levels"][1]["number"] = 1
    status, _, err = run(capsys, written(two), "--rule=ansi-z765")
    assert status == 2
    assert "levels: expected each level number once, found 1 again at levels[1]" in err


@pytest.mark.parametrize("content", [b"", b"{", b"\xff", b"[]", b"null", b"[" * 100_000, b'{"unit": NaN}'])
def test_a_file_that_is_no_plan_is_refused(written, capsys, content):
    source = written(content)
    status, out, err = run(capsys, source, "--rule=ansi-z765")
    assert (status, out) == (2, "")
    assert err.startswith(source)
    assert err.count("\n") == 1


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=6),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=8,
)
PLACES = [("unit",), ("levels",), ("levels", 0), ("levels", 0, "number"), ("levels", 0, "parts"), PART,
          *((*PART, key) for key in part()), (*PART, "polygon", 1), (*PART, "polygon", 1, 0), (*PART, "ceiling", 0),
          (*PART, "ceiling", 0, "polygon"), (*PART, "ceiling", 0, "height")]  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(PLACES), JSON, st.sampled_from(list(Rule)))
def test_anything_anywhere_is_answered_or_refused_in_one_line(tmp_path_factory, path, value, rule):
    source = tmp_path_factory.mktemp("any") / "plan.json"
    source.write_text(json.dumps(changed(path, value)), encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    status = 0
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.stderr", err)
        try:
            call_command("area", str(source), f"--rule={rule}", "--json", stdout=out)
        except SystemExit as stop:
            status = stop.code
    if status:
        assert (status, out.getvalue(), err.getvalue().count("\n")) == (2, "", 1)
    else:
        assert set(json.loads(out.getvalue())) == {"levels", "totals", "notes"}
