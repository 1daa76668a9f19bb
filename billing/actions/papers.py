"""Quotes and invoices as PDFs, from what is stored on them.

Importing this loads reportlab, so it is imported inside whatever draws and nowhere else.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from billing.models import Invoice, InvoiceState, Quote, QuoteState
from billing.models.quote import PricedLine, PricedTax
from billing.paper.money_paper import Labels, MoneyPaper, PaperLine, PaperTax, draw_money_paper
from billing.rules.document import Party
from office.models import Office
from office.paper.sheet import Letterhead, TitleBlock, Words
from office.rules.date_format import format_day, format_moment
from office.rules.money_format import format_money

from .parties import address_lines, buyer_of, party_of, seller_of

Pairs = Sequence[tuple[str, str]]
"""Labels with their values, or headings with their texts; a pair without the second is left out."""


def quote_pdf(quote: Quote, accept_address: str = "") -> bytes:
    """The quote; `accept_address` is printed and drawn as a code to scan while the quote is open."""
    office = Office.the()
    end = format_moment(quote.valid_until, office.zone, office.locale)
    facts = [
        (_("Property"), str(quote.shoot.property)),
        (_("Valid until"), end),
        (_("Rate card"), str(quote.card.number)),
    ]
    remarks = [
        (_("Deposit"), _deposit_remark(quote, office)),
        (_("What this price rests on"), "\n".join(quote.cautions)),
        (_("Terms"), quote.terms),
    ]
    block = TitleBlock(
        _("Quote"), quote.shoot.property.street,
        ((_("Number"), quote.number), (_("Offered"), _day(quote.offered_at, office))),
    )  # fmt: skip
    scan = accept_address if quote.state == QuoteState.OFFERED else ""
    scan_words = _("Accept or decline here until %s. The address is yours alone.") % end
    return _drawn(quote, block, facts, remarks, scan, scan_words)


def invoice_pdf(invoice: Invoice) -> bytes:
    """The invoice as issued; a draft says that it is one."""
    office = Office.the()
    facts = [
        (_("Property"), str(invoice.shoot.property) if invoice.shoot else ""),
        (_("Date of the visit"), _day(invoice.supplied_on, office)),
        (_("Due"), _day(invoice.due_on, office)),
        (_("Quote"), invoice.quote.number if invoice.quote else ""),
        (_("Your tax number"), invoice.buyer.get("tax_number", "")),
    ]
    is_issued = invoice.state in {InvoiceState.ISSUED, InvoiceState.SETTLED}
    block = TitleBlock(
        _("Invoice") if is_issued else _("Draft, not for payment"),
        invoice.shoot.property.street if invoice.shoot else str(invoice),
        ((_("Number"), invoice.number or "–"), (_("Issued"), _day(invoice.issued_on, office) or "–")),
    )
    return _drawn(invoice, block, facts, [(_("How to pay"), invoice.payment_text if invoice.total else "")])


def _drawn(
    row: Quote | Invoice, block: TitleBlock, facts: Pairs, remarks: Pairs, scan: str = "", scan_words: str = ""
) -> bytes:
    office = Office.the()
    seller, buyer = party_of(row.seller or seller_of(office)), party_of(row.buyer or buyer_of(row.client, office))
    paper = MoneyPaper(
        letterhead=Letterhead(seller.name, tuple(_sender_lines(seller)), seller.address.country),
        block=block,
        words=Words((get_language() or "en")[:2], _("Sheet"), _("of")),
        labels=_labels(),
        buyer=tuple(address_lines(buyer, at_home_in=seller.address.country)),
        facts=_given(facts),
        lines=tuple(_lines(row.lines.all())),
        taxes=tuple(_taxes(row.taxes.all())),
        net=row.net,
        total=row.total,
        currency=row.currency,
        locale=office.locale,
        remarks=_given(remarks),
        scan=scan,
        scan_words=scan_words,
    )
    return draw_money_paper(paper)


def _given(pairs: Pairs) -> tuple[tuple[str, str], ...]:
    return tuple(pair for pair in pairs if pair[1])


def _sender_lines(seller: Party) -> Iterable[str]:
    yield from address_lines(seller, at_home_in=seller.address.country)[1:]
    yield from filter(None, (seller.phone, seller.email))
    if seller.tax_number:
        yield _("Tax number %s") % seller.tax_number


def _lines(lines: Iterable[PricedLine]) -> Iterable[PaperLine]:
    return (PaperLine(line.text, line.why, line.quantity, line.unit_price, line.amount) for line in lines)


def _taxes(taxes: Iterable[PricedTax]) -> Iterable[PaperTax]:
    return (PaperTax(tax.name, tax.percent, tax.amount) for tax in taxes)


def _deposit_remark(quote: Quote, office: Office) -> str:
    if not quote.deposit:
        return ""
    deposit = format_money(quote.deposit, quote.currency, office.locale)
    return _("%s falls due when you accept; it is taken off the invoice for the visit.") % deposit


def _labels() -> Labels:
    return Labels(
        to=_("To"), line=_("What"), quantity=_("Quantity"), price=_("Price"), amount=_("Amount"), net=_("Net"),
        total=_("Total"),
    )  # fmt: skip


def _day(value: date | datetime | None, office: Office) -> str:
    return format_day(value, office.zone, office.locale) if value else ""
