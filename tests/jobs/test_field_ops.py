"""What a phone sends, read strictly: one thing that cannot be read loses nothing else."""

import contextlib
import json
from uuid import UUID, uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.rules.field_ops import MOST_OPS, Unread, parse_ops
from office.rules.reading import BadInput

AT = "2027-03-03T15:12:00Z"


def batch(**change):
    op = {"kind": "log", "uuid": str(uuid4()), "number": 1, "space": "H", "pass": "both", "at": AT, **change}
    return json.dumps({"ops": [{name: value for name, value in op.items() if value != "-"}]})


def test_a_batch_is_read_op_by_op():
    uuid = str(uuid4())
    text = json.dumps({"ops": [
        {"kind": "log", "uuid": uuid, "number": 5, "space": "K1", "level": None, "pass": "plan", "opening": "D4",
         "pair_of": None, "ties_to": uuid, "after": None, "note": "", "at": AT},
        {"kind": "remove", "uuid": uuid}, {"kind": "note", "uuid": uuid, "note": "x"},
    ]})  # fmt: skip
    first, second, third = parse_ops(text)
    assert (first.captured_for, first.opening, first.ties_to) == ("plan", "D4", UUID(uuid))
    assert (second.uuid, third.note) == (UUID(uuid), "x")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"kind": "lgo"}, "kind: expected log, remove or note"),
        ({"kind": ["log"]}, "kind: expected log, remove or note"),
        ({"uuid": "7"}, "ops[0].uuid"),
        ({"number": 0}, "ops[0].number"),
        ({"number": "1"}, "ops[0].number"),
        ({"number": 10**7}, "ops[0].number"),
        ({"space": ""}, "ops[0].space"),
        ({"pass": "all"}, "ops[0].pass"),
        ({"pass": "-"}, "ops[0].pass: expected this key"),
        ({"at": "2027-03-03T15:12:00"}, "ops[0].at"),
        ({"at": "yesterday"}, "ops[0].at"),
        ({"note": "x" * 201}, "ops[0].note"),
        ({"level": 1.5}, "ops[0].level"),
        ({"pair_of": 4}, "ops[0].pair_of"),
        ({"colour": "red"}, "unknown key"),
    ],
)
def test_an_op_that_cannot_be_read_is_named_and_nothing_else_is_lost(change, said):
    (unread,) = parse_ops(batch(**change))
    assert isinstance(unread, Unread)
    assert said in unread.why


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{}", '{"ops": 4}', '{"ops": [4]}', '{"ops": [], "x": 1}', '{"ops": [], "ops": []}', "\x00", "{" * 5000],
)
def test_what_is_no_batch_is_refused_whole(text):
    with pytest.raises(BadInput):
        parse_ops(text)


def test_a_batch_has_an_end():
    with pytest.raises(BadInput, match=str(MOST_OPS)):
        parse_ops(json.dumps({"ops": [{}] * (MOST_OPS + 1)}))


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.text(), lambda s: st.lists(s) | st.dictionaries(st.text(), s)
    )
)
def test_whatever_json_is_sent_the_answer_is_ops_or_a_refusal(value):
    for sent in (value, {"ops": value}, {"ops": [value]}, {"ops": [{"kind": "log", "x": value}]}):
        with contextlib.suppress(BadInput):
            assert all(isinstance(op, Unread) for op in parse_ops(json.dumps(sent)))
