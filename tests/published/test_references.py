"""Creditor references against ISO 11649 examples."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from billing.rules.references import (
    BadReference,
    creditor_reference,
    is_creditor_reference,
    payment_reference,
    printed_reference,
    referred_number,
)


@pytest.fixture(scope="session")
def digits(checks):
    return json.loads((checks / "references" / "check_digits.json").read_text("utf-8"))


def test_published_references_are_told_good_from_bad(digits):
    assert all(is_creditor_reference(reference) for reference in digits["creditor_reference_valid"])
    assert not any(is_creditor_reference(reference) for reference in digits["creditor_reference_invalid"])


def test_references_are_made_with_the_published_check_digits(digits):
    for body, reference in digits["creditor_reference_from"].items():
        assert creditor_reference(body) == reference


def test_an_invoice_number_gives_the_published_reference():
    # INV20270001 gives RF64INV20270001 (python-stdnum, ISO 7064 mod 97-10)
    assert payment_reference("INV-2027-0001") == "RF64INV20270001"
    assert payment_reference("inv 2027/0001") == "RF64INV20270001"


def test_a_reference_is_printed_in_groups_of_four():
    # ISO 11649; the example of the European Payments Council's guidelines
    assert printed_reference("RF18539007547034") == "RF18 5390 0754 7034"


@pytest.mark.parametrize("text", ["", "A" * 22, "Straße 1", "INV#1", "٣٣٣", "№12"])
def test_what_no_reference_can_hold_is_refused(text):
    with pytest.raises(BadReference):
        payment_reference(text)


@pytest.mark.parametrize("text", ["", "RF", "RF18", "RF18\u0663", "GB82WEST12345698765432", "RF18539007547034X"])
def test_what_is_no_reference_is_refused(text):
    assert not is_creditor_reference(text)
    with pytest.raises(BadReference):
        referred_number(text)


BODIES = st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", min_size=1, max_size=21)


@given(BODIES)
def test_a_reference_leads_back_to_what_it_was_made_of(body):
    reference = creditor_reference(body)
    assert is_creditor_reference(reference)
    assert referred_number(printed_reference(reference)) == body


@given(BODIES, st.data())
def test_one_wrong_character_is_always_seen(body, data):
    # ISO 7064 mod 97-10 finds every single substitution
    reference = creditor_reference(body)
    at = data.draw(st.integers(4, len(reference) - 1))
    other = data.draw(st.sampled_from("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789").filter(lambda c: c != reference[at]))
    wrong = reference[:at] + other + reference[at + 1 :]
    # Letters count as two digits, so only digit for digit and letter for letter is promised.
    if other.isdigit() == reference[at].isdigit():
        assert not is_creditor_reference(wrong)
