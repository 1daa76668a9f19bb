"""Payment references: ISO 11649 creditor references ("RF…") made from the office's own numbers."""

import re

from stdnum import iso11649
from stdnum.iso7064 import mod_97_10

MOST_CHARACTERS = 21


class BadReference(ValueError):
    """No creditor reference can be made of this, or this is none."""


def creditor_reference(text: str) -> str:
    """The RF reference for up to 21 letters A to Z and digits, "AB2G5" gives "RF68AB2G5"; raises `BadReference`."""
    if not re.fullmatch(rf"[0-9A-Za-z]{{1,{MOST_CHARACTERS}}}", text):
        raise BadReference(f"a reference holds 1 to {MOST_CHARACTERS} letters A to Z and digits, not {text!r}")
    body = text.upper()
    return f"RF{mod_97_10.calc_check_digits(body + 'RF')}{body}"


def payment_reference(invoice_number: str) -> str:
    """The RF reference of an invoice: its number without marks, so "INV-2027-0001" gives "RF64INV20270001".

    Numbers of one series never meet, for they differ in letters or digits. Raises `BadReference`.
    """
    return creditor_reference(re.sub(r"[\s\-./_:]", "", invoice_number))


def is_creditor_reference(text: str) -> bool:
    """Whether the text, blanks and letter case apart, is an RF reference with the right check digits."""
    return text.isascii() and iso11649.is_valid(text)


def referred_number(reference: str) -> str:
    """What a creditor reference was made of, "RF64 INV2 0270 001" gives "INV20270001"; raises `BadReference`."""
    return plain_reference(reference)[4:]


def plain_reference(reference: str) -> str:
    """Capitals and digits only, as it travels with a transfer; raises `BadReference`."""
    if not is_creditor_reference(reference):
        raise BadReference(f"{reference!r} is not a creditor reference")
    return iso11649.compact(reference)


def printed_reference(reference: str) -> str:
    """In groups of four, as it is read out and printed."""
    return iso11649.format(reference)
