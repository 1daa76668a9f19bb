"""The text inside a payment QR code for a SEPA credit transfer (EPC069-12, version 002).

Draw it with error correction level M; it fits QR version 13.
"""

from decimal import Decimal

from stdnum import bic as bic_codes
from stdnum import iban as iban_numbers

from office.rules.money import rounded

from .references import BadReference, plain_reference

LEAST, MOST = Decimal("0.01"), Decimal("999999999.99")
MOST_BYTES = 331
LENGTHS = {"name": 70, "text": 140}


class NotPayable(ValueError):
    """No such code can be made; the text says why."""


def sepa_payload(
    *, name: str, iban: str, amount: Decimal, currency: str, bic: str = "", reference: str = "", text: str = ""
) -> str:
    """The payload, lines joined by LF; give a creditor `reference` (ISO 11649) or free `text`, not both.

    Raises `NotPayable`.
    """
    payee, message = _one_line("name", name), _one_line("text", text)
    _check(payee, amount, currency)
    if reference and message:
        raise NotPayable("a transfer carries a reference or a text, not both")
    lines = (
        "BCD", "002", "1", "SCT", _checked_bic(bic), payee, _checked_iban(iban), f"EUR{amount:.2f}",
        "", _checked_reference(reference), message,
    )  # fmt: skip
    payload = "\n".join(lines).rstrip("\n")
    if len(payload.encode()) > MOST_BYTES:
        raise NotPayable(f"a payment code holds {MOST_BYTES} bytes; shorten the name or the text")
    return payload


def _check(payee: str, amount: Decimal, currency: str) -> None:
    if currency != "EUR":
        raise NotPayable(f"a SEPA transfer is in EUR, not {currency}")
    if not payee:
        raise NotPayable("the payee's name is needed")
    if not amount.is_finite() or not LEAST <= amount <= MOST or amount != rounded(amount, currency):
        raise NotPayable(f"the amount is from {LEAST} to {MOST} in whole cents, not {amount}")


def _one_line(field: str, text: str) -> str:
    line = " ".join("".join(character if character.isprintable() else " " for character in text).split())
    if len(line) > LENGTHS[field]:
        raise NotPayable(f"the {field} has at most {LENGTHS[field]} characters")
    return line


def _checked_iban(iban: str) -> str:
    # Without the country's own check: it knows banks by a list that ages.
    if not iban.isascii() or not iban_numbers.is_valid(iban, check_country=False):
        raise NotPayable(f"{iban!r} is not an IBAN")
    return iban_numbers.compact(iban)


def _checked_bic(bic: str) -> str:
    if bic and not (bic.isascii() and bic_codes.is_valid(bic)):
        raise NotPayable(f"{bic!r} is not a BIC")
    return bic_codes.compact(bic)


def _checked_reference(reference: str) -> str:
    try:
        return plain_reference(reference) if reference else ""
    except BadReference as bad:
        raise NotPayable(str(bad)) from None
