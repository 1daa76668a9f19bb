"""`manage.py reprice`: sums of a file of jobs, and refusals that name file, line and column."""

import csv
import io
import json
import sys

import pytest
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from billing.rules.card import job_to_json
from billing.rules.job_columns import COLUMNS
from billing.rules.pricing import price
from tests.billing.cards_and_jobs import CARD, JOB, card, jobs

CSV_JOB = {key: str(value) for key, value in JOB.items()} | {"add_ons": "exterior:1"}
TWO_PACKAGES = CARD | {"packages": CARD["packages"] | {"plan": CARD["packages"]["both"] | {"base": "90.00"}}}


def as_csv(rows, columns=COLUMNS) -> bytes:
    file = io.StringIO(newline="")
    writer = csv.DictWriter(file, columns, extrasaction="ignore")
    writer.writeheader()
    writer.writerows(rows)
    return file.getvalue().encode()


def csv_row(any_job) -> dict[str, str]:
    row = job_to_json(any_job)
    return row | {"add_ons": ";".join(f"{order['code']}:{order['quantity']}" for order in row["add_ons"])}


@pytest.fixture
def run(tmp_path, capsys):
    """Runs the command on a card and a file of jobs; gives exit status, output and errors."""

    def reprice(content: bytes, *options: str, card=CARD) -> tuple[int, str, str]:
        (tmp_path / "card.json").write_text(json.dumps(card))
        (tmp_path / "jobs.csv").write_bytes(content)
        try:
            call_command("reprice", str(tmp_path / "card.json"), str(tmp_path / "jobs.csv"), *options)
            status = 0
        except SystemExit as stop:
            status = stop.code
        out, err = capsys.readouterr()
        return status, out, err.replace(f"{tmp_path}/", "")

    return reprice


def test_sums_over_all_jobs_and_by_package(run):
    rows = [CSV_JOB, CSV_JOB | {"package": "plan"}, CSV_JOB | {"add_ons": ""}]
    status, out, err = run(as_csv(rows), "--json", "--each", card=TWO_PACKAGES)
    assert (status, err) == (0, "")
    # 180 + 57 + 50 + 60, 25 % and 15 % on top, 5 % off, 35.00 travel: 496.51; base 90: 376.81; no add-on: 416.71
    assert json.loads(out) == {
        "jobs": 3,
        "net": "1290.03",
        "taxes": "93.53",
        "total": "1383.56",
        "by_package": {
            "both": {"jobs": 2, "net": "913.22", "taxes": "66.21", "total": "979.43"},
            "plan": {"jobs": 1, "net": "376.81", "taxes": "27.32", "total": "404.13"},
        },
        "per_job": ["532.51", "404.13", "446.92"],
    }


def test_each_job_only_when_asked(run):
    assert "per_job" not in json.loads(run(as_csv([CSV_JOB]), "--json")[1])


def test_a_table_for_people(run):
    status, out, _err = run(as_csv([CSV_JOB]), "--each")
    assert status == 0
    assert [line.split() for line in out.splitlines()] == [
        ["jobs", "net", "taxes", "total"],
        ["both", "1", "496.51", "36.00", "532.51"],
        ["All", "1", "496.51", "36.00", "532.51"],
        ["532.51"],
    ]


def test_no_jobs(run):
    assert json.loads(run(as_csv([]), "--json")[1]) == {
        "jobs": 0, "net": "0.00", "taxes": "0.00", "total": "0.00", "by_package": {}
    }  # fmt: skip


def test_columns_stand_in_any_order(run):
    assert json.loads(run(as_csv([CSV_JOB], COLUMNS[::-1]), "--json")[1])["total"] == "532.51"


def test_standard_input_is_a_dash(run, tmp_path, capsys, monkeypatch):
    (tmp_path / "card.json").write_text(json.dumps(CARD))
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(as_csv([CSV_JOB | {"levels": "0"}]))))
    with pytest.raises(SystemExit):
        call_command("reprice", str(tmp_path / "card.json"), "-")
    assert capsys.readouterr().err == "-: line 2: levels: expected greater than or equal to 1, found 0\n"


@given(st.lists(jobs(), min_size=1, max_size=5))
@settings(max_examples=50, deadline=None)
def test_a_file_of_jobs_comes_to_what_they_come_to_alone(tmp_path_factory, many):
    rates = TWO_PACKAGES | {
        "add_ons": {"exterior": {"fixed": "1.5"}, "sheet": {"percent": "3"}, "staging": {"fixed": "9"}}
    }
    folder, out = tmp_path_factory.getbasetemp(), io.StringIO()
    (folder / "card.json").write_text(json.dumps(rates))
    (folder / "jobs.csv").write_bytes(as_csv(map(csv_row, many)))
    call_command("reprice", str(folder / "card.json"), str(folder / "jobs.csv"), "--json", "--each", stdout=out)
    changes = {key: rates[key] for key in ("packages", "add_ons")}
    assert json.loads(out.getvalue())["per_job"] == [str(price(card(**changes), each).total) for each in many]


@pytest.mark.parametrize(
    ("column", "cell", "said"),
    [
        ("package", "tour", "package: expected one of both, found 'tour'"),
        ("package", "", "package: expected one of both, found ''"),
        ("area", "", 'area: expected a decimal such as "12.50", found'),
        ("area", "-1", "area: expected zero or more, found -1"),
        ("area", "NaN", 'area: expected a decimal such as "12.50", found'),
        ("area", "2,450", 'area: expected a decimal such as "12.50", found'),
        ("area_unit", "ft", "area_unit: expected 'sqft' or 'm2', found 'ft'"),
        ("levels", "0", "levels: expected greater than or equal to 1, found 0"),
        ("levels", "2.0", "levels: expected a valid integer, found '2.0'"),
        ("levels", "-2", "levels: expected greater than or equal to 1, found -2"),
        ("levels", "+2", "levels: expected a valid integer, found '+2'"),
        ("levels", "٢", "levels: expected a valid integer, found '٢'"),
        ("levels", "9" * 17, "levels: expected less than or equal to 1000000"),
        ("levels", "9" * 5000, "levels: expected a valid integer, found '99"),
        ("add_ons", "exterior", "add_ons: expected code:quantity joined by a semicolon, found 'exterior'"),
        ("add_ons", "exterior:1;", "add_ons: expected code:quantity joined by a semicolon, found ''"),
        ("add_ons", ":1", "add_ons: expected code:quantity joined by a semicolon, found ':1'"),
        ("add_ons", "exterior:0", "add_ons[0].quantity: expected greater than or equal to 1, found 0"),
        ("add_ons", "exterior:two", "add_ons[0].quantity: expected a valid integer, found 'two'"),
        ("add_ons", "exterior:1;exterior:2", "add_ons[1].code: expected each add-on once, found 'exterior' again"),
        ("add_ons", "drone:1", "add_ons: expected one of exterior, area_sheet, staging_pass, found 'drone'"),
        ("distance_km", "far", 'distance_km: expected a decimal such as "12.50", found'),
        ("hours_notice", "1e3", 'hours_notice: expected a decimal such as "12.50", found'),
        ("starts_at", "2027-03-06T09:00:00", "starts_at: expected a time with its offset such as"),
        ("starts_at", "1772809200", "starts_at: expected a time with its offset such as"),
        ("shoots_last_90_days", "", "shoots_last_90_days: expected a valid integer, found ''"),
    ],
)
def test_a_cell_is_refused_with_file_line_and_column(run, column, cell, said):
    status, out, err = run(as_csv([CSV_JOB, CSV_JOB | {column: cell}]), "--json")
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(f"jobs.csv: line 3: {said}"), err


def test_a_distance_that_no_travel_row_reaches(run):
    closed = CARD | {"travel": [{"up_to_km": "60", "fee": "35"}]}
    status, out, err = run(as_csv([CSV_JOB, CSV_JOB | {"distance_km": "60.5"}]), card=closed)
    assert (status, out) == (2, "")
    assert err == (
        "jobs.csv: line 3: distance_km: expected 60 or less, the end of the card's travel rows, found 60.5\n"
    )


def test_the_line_is_that_of_the_file_whatever_comes_between(run):
    header, row = as_csv([CSV_JOB]).splitlines()
    wrong = row.replace(b"2450", b"none")
    long = row.replace(b"both", b'"bo\nth"')
    assert run(b"\r\n".join([header, b"", row, b"", wrong]))[2].startswith("jobs.csv: line 5: area: ")
    assert run(b"\n".join([header, long, row, wrong]))[2].startswith("jobs.csv: line 3: package: ") is False
    assert run(b"\n".join([header, long, row, wrong]))[2].startswith("jobs.csv: line 5: area: ")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "package: expected this column"),
        (as_csv([CSV_JOB], COLUMNS[1:]), "package: expected this column"),
        (as_csv([CSV_JOB | {"rush": "1"}], [*COLUMNS, "rush"]), "rush: unknown column"),
        (as_csv([CSV_JOB], [*COLUMNS, "area"]), "line 1: expected each column once"),
        (as_csv([CSV_JOB])[:-8], "line 2: expected 9 values, found"),
        (as_csv([CSV_JOB]) + b"a,b\r\n", "line 3: expected 9 values, found 2"),
        (b"\xff\xfe", "expected UTF-8 text"),
    ],
)
def test_files_that_are_no_jobs(run, content, said):
    status, out, err = run(content, "--json")
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(f"jobs.csv: {said}"), err


def test_the_card_is_refused_as_by_price(run):
    status, out, err = run(as_csv([CSV_JOB]), card=CARD | {"minimum": "-1"})
    assert (status, out, err) == (2, "", "card.json: minimum: expected zero or more, found -1\n")
