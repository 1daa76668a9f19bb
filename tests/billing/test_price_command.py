"""`manage.py price`: what it answers, and that it refuses in one line."""

import copy
import io
import json
import sys

import pytest
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.billing.cards_and_jobs import CARD, JOB

DELETED = object()
STRANGE = [None, True, 0, -1, 1.5, 10**30, "", "x", "-1", "-0.01", "NaN", "Infinity", "1e5", "1,5", " 1", [], {}, [[]]]


@pytest.fixture
def run(tmp_path, capsys):
    """Runs the command on a card and a job, as objects or as bytes; gives exit status, output and errors."""

    def price(card=CARD, job=JOB, *options: str) -> tuple[int, str, str]:
        for name, content in (("card.json", card), ("job.json", job)):
            (tmp_path / name).write_bytes(content if isinstance(content, bytes) else json.dumps(content).encode())
        try:
            call_command("price", str(tmp_path / "card.json"), str(tmp_path / "job.json"), *options)
            status = 0
        except SystemExit as stop:
            status = stop.code
        out, err = capsys.readouterr()
        return status, out, err.replace(f"{tmp_path}/", "")

    return price


def changed(document: dict, path: str, value) -> dict:
    """The document with the value at a path such as packages.both.area_bands.0.up_to set, or deleted."""
    document = copy.deepcopy(document)
    *outer, last = path.split(".")
    inner = document
    for key in outer:
        inner = inner[int(key) if isinstance(inner, list) else key]
    last = int(last) if isinstance(inner, list) else last
    if value is DELETED:
        del inner[last]
    else:
        inner[last] = value
    return document


def paths(document, prefix: str = "") -> list[str]:
    """Every key path in the document."""
    pairs = (
        document.items() if isinstance(document, dict) else enumerate(document) if isinstance(document, list) else ()
    )
    return [path for key, value in pairs for path in (f"{prefix}{key}", *paths(value, f"{prefix}{key}."))]


def bracketed(path: str) -> str:
    return "".join(f"[{key}]" if key.isdigit() else f".{key}" for key in path.split(".")).removeprefix(".")


def test_one_json_object_and_nothing_else(run):
    status, out, err = run(CARD, JOB, "--json")
    answer = json.loads(out)
    assert (status, err) == (0, "")
    assert list(answer) == ["card", "currency", "lines", "net", "taxes", "total"]
    assert answer["lines"][1] == {
        "code": "area",
        "text": "Area over 1,500 sq ft",
        "quantity": "950",
        "unit_price": "0.0600",
        "amount": "57.00",
        "why": "950 sq ft over the 1,500 included, at $0.06",
    }
    assert (answer["card"], answer["currency"], answer["net"], answer["total"]) == (3, "USD", "496.51", "532.51")
    assert answer["taxes"] == [{"name": "Sales tax", "percent": "7.25", "base": "496.51", "amount": "36.00"}]


def test_a_table_for_people(run):
    status, out, _err = run()
    lines = out.splitlines()
    assert status == 0
    assert lines[0] == f"{'Package: both':<32} {'180.00':>12}   The base price, 1,500 sq ft and 1 level included"
    assert lines[-3:] == [
        f"{'Net':<32} {'496.51':>12}",
        f"{'Sales tax 7.25%':<32} {'36.00':>12}   on 496.51",
        f"{'Total, USD':<32} {'532.51':>12}",
    ]


def test_figures_are_texts_without_an_exponent(run):
    tiny = changed(CARD, "packages.both.area_bands.0.per_unit", "0.0000001")
    lines = json.loads(run(tiny, changed(JOB, "area", "2950000.50"), "--json")[1])["lines"]
    assert [(line["quantity"], line["unit_price"]) for line in lines[:2]] == [("1", "180.00"), ("2947000.5", "0.0450")]
    wide = changed(tiny, "packages.both.area_bands.0.up_to", "9000000")
    lines = json.loads(run(wide, changed(JOB, "area", "2001500"), "--json")[1])["lines"]
    assert (lines[1]["quantity"], lines[1]["unit_price"], lines[1]["amount"]) == ("2000000", "0.0000001", "0.20")


def test_standard_input_is_a_dash(tmp_path, capsys, monkeypatch):
    (tmp_path / "card.json").write_text(json.dumps(CARD))
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(json.dumps(JOB).encode())))
    call_command("price", str(tmp_path / "card.json"), "-", "--json")
    assert json.loads(capsys.readouterr().out)["total"] == "532.51"


@pytest.mark.parametrize("path", paths(CARD))
def test_every_key_of_the_card_is_needed_and_typed(run, path):
    check_key(lambda document: run(document, JOB, "--json"), CARD, path, "card.json")


@pytest.mark.parametrize("path", paths(JOB))
def test_every_key_of_the_job_is_needed_and_typed(run, path):
    check_key(lambda document: run(CARD, document, "--json"), JOB, path, "job.json")


def check_key(run, document, path, file):
    named = bracketed(path)
    for value in STRANGE:
        status, out, err = run(changed(document, path, value))
        assert (status, bool(out), err.count("\n")) in ((0, True, 0), (2, False, 1)), value
        if status and value != {}:  # a card without packages is one that the job does not fit
            assert err.startswith((f"{file}: {named}", f"{file}: {named.rpartition('.')[0]}")), err
    assert run(changed(document, path, object_in_place_of(document, path)))[0] == 2
    if not path[-1].isdigit() and path not in OPTIONAL:
        status, out, err = run(changed(document, path, DELETED))
        assert (status, out, err) == (2, "", f"{file}: {named}: expected this key\n")


OPTIONAL = {
    "packages.both", "add_ons.exterior", "add_ons.area_sheet", "add_ons.staging_pass",
    "add_ons.exterior.fixed", "add_ons.area_sheet.per_unit_area", "add_ons.area_sheet.at_least",
    "add_ons.staging_pass.percent", "travel.2.per_km_beyond", "travel.2.beyond_km",
}  # fmt: skip
"""Names of the office's own, and keys that stand only where they are needed."""


def object_in_place_of(document, path):
    """A number where there is text, text where there is anything else."""
    inner = document
    for key in path.split("."):
        inner = inner[int(key) if isinstance(inner, list) else key]
    return 5 if isinstance(inner, str) else "five"


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("number", 0, "number: expected greater than or equal to 1, found 0"),
        ("from", "2027-02-30", "from: expected a date such as"),
        ("from", "1798761600", "from: expected a date such as"),
        ("currency", "usd", "currency: 'usd' is not an ISO 4217 currency code"),
        ("currency", "XAU", "currency: XAU has no minor unit"),
        ("area_unit", "sq ft", "area_unit: expected 'sqft' or 'm2', found 'sq ft'"),
        ("extra", "1", "extra: unknown key"),
        ("packages.both.extra", "1", "packages.both.extra: unknown key"),
        ("packages.both.base", "-1", "packages.both.base: expected zero or more, found -1"),
        ("packages.both.base", 180, "packages.both.base: expected a decimal in a string, found a number"),
        ("packages.both.base", "1" * 19, "packages.both.base: expected at most 18 digits"),
        ("packages.both.area_bands.1.per_unit", "NaN", "packages.both.area_bands[1].per_unit: expected a decimal"),
        ("packages.both.area_bands.0.up_to", None, "packages.both.area_bands[0].up_to: expected an area, only"),
        ("packages.both.area_bands.1.up_to", "9000", "packages.both.area_bands[1].up_to: expected null, the last band"),
        ("packages.both.area_bands.1.up_to", "3000", "packages.both.area_bands[1].up_to: expected more than 3000"),
        ("packages.both.area_bands.1.up_to", "2999", "packages.both.area_bands[1].up_to: expected more than 3000"),
        ("packages", {}, "package: expected one that the card has, it has none, found 'both'"),
        ("add_ons", {}, "add_ons[0].code: expected one that the card has, it has none, found 'exterior'"),
        ("add_ons.exterior", {}, "add_ons.exterior: expected one of fixed, per_unit_area and percent, found none"),
        ("add_ons.exterior.percent", "1", "add_ons.exterior: expected one of fixed, per_unit_area and percent"),
        ("add_ons.exterior.fixed", None, "add_ons.exterior.fixed: expected a decimal in a string, or no such key"),
        ("add_ons.exterior.at_least", "1", "add_ons.exterior.at_least: expected only beside per_unit_area"),
        ("travel.2.beyond_km", DELETED, "travel[2].beyond_km: expected this key beside per_km_beyond"),
        ("travel.2.per_km_beyond", DELETED, "travel[2].per_km_beyond: expected this key beside beyond_km"),
        ("travel", [{"up_to_km": "31.39", "fee": "0"}], "distance_km: expected 31.39 or less, the end of the card's"),
        ("client_volume.0.from_shoots", -1, "client_volume[0].from_shoots: expected greater than or equal to 0"),
        ("client_volume.0.from_shoots", "5", "client_volume[0].from_shoots: expected a valid integer, found '5'"),
        ("client_volume.0.percent_off", "100.01", "client_volume[0].percent_off: expected 100 or less, found 100.01"),
        ("round_net_to", "0", "round_net_to: expected more than zero, found 0"),
        ("round_net_to", "0.015", "round_net_to: expected a multiple of 0.01 USD, found 0.015"),
        ("tax.0.percent", "-7", "tax[0].percent: expected zero or more, found -7"),
        ("tax_rounding", "total", "tax_rounding: expected 'invoice' or 'line', found 'total'"),
    ],
)  # fmt: skip
def test_a_card_is_refused_with_file_path_and_expectation(run, path, value, said):
    status, out, err = run(changed(CARD, path, value))
    file = "job.json" if said.startswith(("package:", "add_ons[0]", "distance_km")) else "card.json"
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(f"{file}: {said}"), err


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("package", "plan", "package: expected one of both, found 'plan'"),
        ("package", ["both"], "package: expected a valid string"),
        ("area", "-1", "area: expected zero or more, found -1"),
        ("area", 2450, "area: expected a decimal in a string, found a number"),
        ("area", "NaN", 'area: expected a decimal such as "12.50", found'),
        ("area_unit", "ft", "area_unit: expected 'sqft' or 'm2', found 'ft'"),
        ("levels", 0, "levels: expected greater than or equal to 1, found 0"),
        ("levels", 3.0, "levels: expected a valid integer, found 3.0"),
        ("levels", True, "levels: expected a valid integer, found True"),
        ("levels", 10**30, "levels: expected less than or equal to 1000000"),
        ("add_ons.0.quantity", 0, "add_ons[0].quantity: expected greater than or equal to 1, found 0"),
        ("add_ons.0.code", "drone", "add_ons[0].code: expected one of exterior, area_sheet, staging_pass, found"),
        ("add_ons", JOB["add_ons"] * 2, "add_ons[1].code: expected each add-on once, found 'exterior' again"),
        ("starts_at", "2027-03-06T09:00:00", "starts_at: expected a time with its offset such as"),
        ("starts_at", "2027-03-06", "starts_at: expected a time with its offset such as"),
        ("starts_at", "1772809200", "starts_at: expected a time with its offset such as"),
        ("starts_at", "2027-13-06T09:00:00Z", "starts_at: expected a time with its offset such as"),
        ("starts_at", 1772809200, "starts_at: expected a time with its offset such as"),
        ("hours_notice", "-0.5", "hours_notice: expected zero or more, found -0.5"),
        ("shoots_last_90_days", -1, "shoots_last_90_days: expected greater than or equal to 0, found -1"),
        ("rush", True, "rush: unknown key"),
    ],
)  # fmt: skip
def test_a_job_is_refused_with_file_path_and_expectation(run, path, value, said):
    status, out, err = run(CARD, changed(JOB, path, value), "--json")
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(f"job.json: {said}"), err


@pytest.mark.parametrize(
    "content",
    [b"", b"{", b"[]", b"null", b"5", b"\xff\xfe{}", b'{"number": NaN}', b"[" * 100_000, b'{"a":' * 5_000, b"{}\x00"],
)
def test_files_that_are_no_card_and_no_job(run, content):
    for status, out, err in (run(content, JOB), run(CARD, content)):
        assert (status, out, err.count("\n")) == (2, "", 1)
        assert ": expected " in err


def test_a_byte_order_mark_is_no_harm(run):
    assert run(b"\xef\xbb\xbf" + json.dumps(CARD).encode(), JOB)[0] == 0


def test_files_that_are_not_there(run, tmp_path, capsys):
    for missing in (str(tmp_path / "none.json"), str(tmp_path)):
        with pytest.raises(SystemExit) as stop:
            call_command("price", missing, missing)
        assert stop.value.code == 2
        assert capsys.readouterr().err.startswith(f"{missing}: expected a readable file (")


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20) | st.decimals().map(str),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=10), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(paths(CARD)), ANYTHING)
def test_anything_anywhere_in_the_card_is_priced_or_refused_in_one_line(tmp_path_factory, path, value):
    folder = tmp_path_factory.getbasetemp()
    (folder / "card.json").write_text(json.dumps(changed(CARD, path, value)))
    (folder / "job.json").write_text(json.dumps(JOB))
    status, out, err = 0, io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "stderr", err)
        try:
            call_command("price", str(folder / "card.json"), str(folder / "job.json"), "--json", stdout=out)
        except SystemExit as stop:
            status = stop.code
    assert (status, bool(out.getvalue()), err.getvalue().count("\n")) in ((0, True, 0), (2, False, 1))
