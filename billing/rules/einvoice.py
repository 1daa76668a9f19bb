"""What EN 16931-1 asks of an electronic invoice beyond its arithmetic, and how taxes other than VAT fit into it.

The rules named are those of the EN 16931 validation artefacts (BR-…).
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files

from office.rules.money import minor_units

from .document import Address, InvoiceDocument, InvoiceLine, Kind, Party
from .tax import (
    OUTSIDE_SCOPE,
    TAX_CATEGORIES,
    ZERO,
    Adjustment,
    InvoiceTotals,
    Needs,
    TaxCategory,
    Taxed,
    TaxSubtotal,
)

MOST_DECIMALS = 2
EXTRA_VAT_PREFIXES = {"EL", "XI"}
"""Greece, and Northern Ireland in trade with the Union."""


@dataclass(frozen=True)
class Gap:
    """Something that keeps a document from being an electronic invoice: the rule, and what to do."""

    rule: str
    text: str


def outside_vat(document: InvoiceDocument) -> bool:
    """Whether no line or adjustment is in the scope of VAT: a sales-tax invoice, or one without any tax."""
    parts: tuple[Taxed, ...] = (*document.lines, *document.adjustments)
    return not any(rate.is_vat and rate.category != "O" for part in parts for rate in part.taxes)


def as_en16931(document: InvoiceDocument) -> InvoiceDocument:
    """The document as the standard can say it.

    The standard knows no tax but VAT. Where none is charged, all is category O (outside the scope of VAT) and each
    other tax stands as a charge on the document, so that every total that the buyer pays is the same. VAT numbers
    have no place on it (BR-O-02).
    """
    if not outside_vat(document):
        return document
    outside = (OUTSIDE_SCOPE,)
    taxes = tuple(
        Adjustment(row.tax, f"{row.rate.label} on {row.taxable}", is_charge=True, taxes=outside)
        for row in document.totals.breakdown
        if row.tax
    )
    return replace(
        document,
        seller=_without_vat_number(document.seller),
        buyer=_without_vat_number(document.buyer),
        lines=tuple(replace(line, taxes=outside) for line in document.lines),
        adjustments=(*(replace(each, taxes=outside) for each in document.adjustments), *taxes),
        totals=_untaxed(document.totals),
    )


def _without_vat_number(party: Party) -> Party:
    return replace(party, vat_number="", tax_number=party.tax_number or party.vat_number)


def _untaxed(totals: InvoiceTotals) -> InvoiceTotals:
    nothing = totals.tax * 0
    return replace(
        totals,
        charges=totals.charges + totals.tax,
        net=totals.gross,
        tax=nothing,
        breakdown=(TaxSubtotal(OUTSIDE_SCOPE, totals.gross, nothing),),
    )


def gaps(document: InvoiceDocument) -> tuple[Gap, ...]:
    """What is missing before `document` is a valid electronic invoice; empty when nothing is."""
    sendable = as_en16931(document)
    return (*_document_gaps(sendable), *_party_gaps(sendable), *_line_gaps(sendable), *_category_gaps(sendable))


def _document_gaps(document: InvoiceDocument) -> Iterator[Gap]:
    if _blank(document.number):
        yield Gap("BR-02", "the document needs a number")
    if minor_units(document.currency) > MOST_DECIMALS:
        yield Gap("BR-DEC-14", f"amounts have at most two decimals, and {document.currency} has three")
    if not document.lines:
        yield Gap("BR-16", "at least one line is needed")
    if any(_blank(each.text) for each in document.adjustments):
        yield Gap("BR-33", "each allowance or charge needs a text")
    to_pay = document.kind is Kind.INVOICE and document.totals.due > ZERO
    if to_pay and not document.due_on and _blank(document.terms):
        yield Gap("BR-CO-25", "a due date or payment terms are needed")


def _party_gaps(document: InvoiceDocument) -> Iterator[Gap]:
    for rule, role, party in (("BR-06", "seller", document.seller), ("BR-07", "buyer", document.buyer)):
        if _blank(party.name):
            yield Gap(rule, f"the {role} needs a name")
        if not _is_country(party.address):
            yield Gap("BR-CL-14", f"the {role}'s country is a two-letter ISO 3166 code, not {party.address.country!r}")
        if party.vat_number and not _has_prefix(party.vat_number):
            yield Gap("BR-CO-09", f"the {role}'s VAT number begins with its country's letters")
    if _blank(document.seller.vat_number + document.seller.registration_number):
        yield Gap("BR-CO-26", "the seller needs a VAT number or a company registration number")
    if document.supplied_at and not _is_country(document.supplied_at):
        yield Gap("BR-57", "the place of the work needs a two-letter ISO 3166 country code")


def _line_gaps(document: InvoiceDocument) -> Iterator[Gap]:
    for number, line in enumerate(document.lines, start=1):
        yield from _one_line_gaps(number, line)
    if any(len(each.taxes) != 1 for each in document.adjustments):
        yield Gap("BR-32", "each allowance or charge on the document bears exactly one VAT rate and no other tax")


def _one_line_gaps(number: int, line: InvoiceLine) -> Iterator[Gap]:
    if _blank(line.text):
        yield Gap("BR-25", f"line {number} needs a text")
    if len(line.taxes) != 1:
        yield Gap("BR-CO-04", f"line {number} bears exactly one VAT rate and no other tax")
    if any(_blank(each.text) for each in line.adjustments):
        yield Gap("BR-42", f"line {number}: each allowance or charge needs a text")


def _category_gaps(document: InvoiceDocument) -> Iterator[Gap]:
    codes = dict.fromkeys(row.rate.category for row in document.totals.breakdown)
    categories = [TAX_CATEGORIES[code] for code in codes if code]
    if "O" in codes and len(codes) > 1:
        yield Gap("BR-O-11", "what is outside the scope of VAT cannot stand beside other categories")
    if None in codes:
        yield Gap("BR-CO-18", "a tax other than VAT cannot stand beside VAT")
    for category in categories:
        yield from _number_gaps(category, document)
    if "K" in codes and not document.supplied_on:
        yield Gap("BR-IC-11", "intra-community supply: the day of the work is needed")
    if "K" in codes and not document.supplied_at:
        yield Gap("BR-IC-12", "intra-community supply: the place of the work is needed")


def _number_gaps(category: TaxCategory, document: InvoiceDocument) -> Iterator[Gap]:
    for role, party, needs in (
        ("seller", document.seller, category.seller),
        ("buyer", document.buyer, category.buyer),
    ):
        if not _has(party, needs):
            yield Gap(f"BR-{category.code}-02", f"{category.text}: the {role} needs {needs}")


def _has(party: Party, needs: Needs) -> bool:
    numbers = {
        Needs.NOTHING: "-",
        Needs.VAT_NUMBER: party.vat_number,
        Needs.VAT_OR_TAX_NUMBER: party.vat_number + party.tax_number,
        Needs.VAT_OR_REGISTRATION_NUMBER: party.vat_number + party.registration_number,
    }
    return not _blank(numbers[needs])


def _blank(text: str) -> bool:
    """Whether nothing of the text would be seen: blanks and control characters only."""
    return not any(character.isprintable() and not character.isspace() for character in text)


def _is_country(address: Address) -> bool:
    return address.country in country_codes()


def _has_prefix(vat_number: str) -> bool:
    return vat_number[:2] in country_codes() | EXTRA_VAT_PREFIXES


@lru_cache(maxsize=1)
def country_codes() -> frozenset[str]:
    """The two-letter codes of ISO 3166-1, from the tz database's own list."""
    text = (files("tzdata") / "zoneinfo" / "iso3166.tab").read_text("utf-8")
    return frozenset(re.findall(r"^([A-Z]{2})\t", text, re.MULTILINE))
