"""Strict reading: every refusal is one line with the file, the key path and what was expected."""

from dataclasses import replace
from decimal import Decimal
from typing import Annotated

import pytest
from pydantic import Field
from pydantic.dataclasses import dataclass

from office.rules.reading import STRICT, BadInput, NotNegative, Positive, parse_csv, parse_json, read_text


@dataclass(frozen=True, config=STRICT)
class Row:
    up_to: NotNegative | None
    step: Positive = Decimal(1)


@dataclass(frozen=True, config=STRICT)
class File:
    starts: Annotated[int, Field(alias="from")]
    rows: tuple[Row, ...] = ()


def refusal(text):
    with pytest.raises(BadInput) as refused:
        parse_json(text, File, "card.json")
    return str(refused.value)


def test_a_file_is_read_by_its_keys_and_built_in_code_by_its_fields():
    read = parse_json('{"from": 3, "rows": [{"up_to": "12.50"}, {"up_to": null}]}', File, "card.json")
    assert read == File(starts=3, rows=(Row(up_to=Decimal("12.50")), Row(up_to=None)))
    assert replace(read, starts=4).starts == 4


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{}", "card.json: from: expected this key"),
        ('{"starts": 3}', "card.json: from: expected this key"),
        ('{"from": 3, "x": 1}', "card.json: x: unknown key"),
        ('{"from": "3"}', "card.json: from: expected a valid integer, found '3'"),
        ('{"from": 3, "from": 4}', "card.json: from: expected this key once"),
        ('{"from": 3, "rows": [{"up_to": 1.5}]}', "card.json: rows[0].up_to: expected a decimal in a string"),
        ('{"from": 3, "rows": [{"up_to": "-1"}]}', "card.json: rows[0].up_to: expected zero or more, found -1"),
        ('{"from": 3, "rows": [{"up_to": "1", "step": "0"}]}', "rows[0].step: expected more than zero"),
        ('{"from": 3, "rows": [{"up_to": "NaN"}]}', 'expected a decimal such as "12.50"'),
        ('{"from": 3, "rows": [{"up_to": "1e9"}]}', 'expected a decimal such as "12.50"'),
        ('{"from": 3, "rows": [{"up_to": "1234567890123456789"}]}', "expected at most 18 digits"),
        ('{"from": NaN}', "card.json: from: expected"),
        ("", "card.json: expected JSON"),
        ("[", "card.json: expected JSON"),
        ("[" * 100_000, "card.json: expected JSON"),
        ("null", "card.json: expected"),
    ],
)
def test_what_does_not_fit_is_named_in_one_line(text, said):
    line = refusal(text)
    assert said in line
    assert "\n" not in line


def test_a_missing_file_and_one_that_is_no_text_are_named(tmp_path):
    with pytest.raises(BadInput, match="No such file"):
        read_text(str(tmp_path / "none.json"))
    with pytest.raises(BadInput, match="readable file"):
        read_text(str(tmp_path))
    (tmp_path / "bytes.json").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadInput, match="UTF-8"):
        read_text(str(tmp_path / "bytes.json"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a\n1\n", "b: expected this column"),
        ("a,b,c\n", "c: unknown column"),
        ("a,b,b\n", "expected each column once"),
        ("a,b\n1\n", "line 2: expected 2 values, found 1"),
        ("", "a: expected this column"),
    ],
)
def test_a_csv_file_that_does_not_fit_is_named(text, said):
    with pytest.raises(BadInput) as refused:
        parse_csv(text, ["a", "b"], "rows.csv")
    assert said in str(refused.value)


def test_csv_columns_may_stand_in_any_order():
    assert parse_csv("b,a\n2, 1 \n", ["a", "b"], "rows.csv") == [{"a": "1", "b": "2"}]
