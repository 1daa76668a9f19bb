"""The payment code's text against EPC069-12."""

import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.qr_payment import NotPayable, sepa_payload

D = Decimal
PAYEE = {"name": "Franz Mustermänn", "iban": "DE71110220330123456789", "amount": D("12.30"), "currency": "EUR"}


def test_the_guidelines_example_with_a_reference():
    # EPC069-12, example of a payload with a creditor reference (version 002; its purpose code GDDS left out)
    payload = sepa_payload(**PAYEE, bic="BHBLDEHHXXX", reference="RF18 5390 0754 7034")
    assert payload.split("\n") == [
        "BCD", "002", "1", "SCT", "BHBLDEHHXXX", "Franz Mustermänn", "DE71110220330123456789", "EUR12.30", "",
        "RF18539007547034",
    ]  # fmt: skip


def test_the_red_cross_example_with_a_text():
    # EPC069-12, example: Red Cross of Belgium, Urgency fund (version 002; purpose and information left out)
    payload = sepa_payload(
        name="Red Cross of Belgium", iban="BE72 0000 0000 1616", amount=D("1"), currency="EUR", bic="BPOTBEB1",
        text="Urgency fund",
    )  # fmt: skip
    assert payload == "BCD\n002\n1\nSCT\nBPOTBEB1\nRed Cross of Belgium\nBE72000000001616\nEUR1.00\n\n\nUrgency fund"


def test_published_ibans_are_told_good_from_bad(checks):
    digits = json.loads((checks / "references" / "check_digits.json").read_text("utf-8"))
    for iban in digits["iban_valid"]:
        assert iban in sepa_payload(**PAYEE | {"iban": iban})
    for iban in digits["iban_invalid"]:
        with pytest.raises(NotPayable, match="IBAN"):
            sepa_payload(**PAYEE | {"iban": iban})


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        # EPC069-12: 0.01 to 999,999,999.99 euro; name 70, text 140 characters; reference or text, not both
        ({"amount": D("0.00")}, "0.01"),
        ({"amount": D("1000000000.00")}, "999999999.99"),
        ({"amount": D("1.005")}, "whole cents"),
        ({"amount": D("NaN")}, "0.01"),
        ({"currency": "USD"}, "EUR"),
        ({"name": " "}, "name"),
        ({"name": "x" * 71}, "70"),
        ({"text": "x" * 141}, "140"),
        ({"reference": "RF18539007547034", "text": "INV-1"}, "not both"),
        ({"reference": "RF19539007547034"}, "creditor reference"),
        ({"bic": "NOPE"}, "BIC"),
        # 70 × 3 + 140 × 3 bytes do not fit QR version 13 at level M (331 bytes)
        ({"name": "€" * 70, "text": "€" * 140}, "331"),
    ],
)
def test_what_the_guidelines_forbid_is_refused(changes, words):
    with pytest.raises(NotPayable, match=words):
        sepa_payload(**PAYEE | changes)


@given(st.text(min_size=1, max_size=60), st.text(max_size=30), st.decimals(D("0.01"), D("999999999.99"), places=2))
def test_no_field_ever_slips_into_another(name, text, amount):
    payload = sepa_payload(**PAYEE | {"name": f"A{name}", "text": f"{text}z", "amount": amount})
    lines = payload.split("\n")
    assert len(lines) == 11
    assert D(lines[7].removeprefix("EUR")) == amount
    assert lines[5].startswith("A")
    assert lines[10].endswith("z")
    assert payload.isprintable() or set(payload) - set("\n") == {c for c in payload if c.isprintable()}
