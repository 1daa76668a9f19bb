"""Whether a copy that should name nobody shows somebody's contact details, in its words, links or document texts."""

import re
import unicodedata
from collections.abc import Iterable

LEAST_DIGITS = 7
COMPARED_DIGITS = 9
"""Telephone numbers are compared by their last digits, so that a country or trunk prefix makes no difference."""
LEAST_LETTERS = 3
TELEPHONE = re.compile(r"[\d\s()+./-]+")


def shown_in(contact: str, texts: Iterable[str]) -> bool:
    """Whether any of `texts` shows `contact`: a telephone number, an address of any kind, a name."""
    if _is_telephone(contact):
        wanted = _digits(contact)[-COMPARED_DIGITS:]
        return any(wanted in _digits(found) for text in texts for found in TELEPHONE.findall(text))
    wanted = _bare(contact)
    if len(wanted) < LEAST_LETTERS:
        return False
    return any(f" {wanted} " in f" {_bare(text)} " for text in texts)


def _is_telephone(contact: str) -> bool:
    return bool(TELEPHONE.fullmatch(contact.strip())) and len(_digits(contact)) >= LEAST_DIGITS


def _digits(text: str) -> str:
    return "".join(char for char in text if char.isdigit())


def _bare(text: str) -> str:
    """The words of a text without case, accents and punctuation; of a link without its scheme."""
    folded = unicodedata.normalize("NFKD", text).casefold()
    plain = "".join(char for char in folded if not unicodedata.combining(char))
    plain = re.sub(r"\b(?:https?://|mailto:|tel:)(?:www\.)?|\bwww\.", " ", plain)
    return " ".join(re.findall(r"\w+", plain))
