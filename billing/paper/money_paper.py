"""A quote or an invoice on the office's sheet: who to, lines with their reasons, taxes, total, and what to do.

Drawn from one plain value; every text on it comes in its final words, every figure as a Decimal.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from reportlab.platypus import Flowable, KeepTogether, Table

from office.paper.fonts import REGULAR
from office.paper.parts import BODY, CELL, HEADING, SMALL, QrCode, gap, rows, text, words_and_why
from office.paper.sheet import Letterhead, TitleBlock, Words, draw_sheet
from office.rules.money_format import format_money, format_number, format_rate, shortest

WIDTHS = (56, 12, 16, 16)


@dataclass(frozen=True)
class PaperLine:
    """One line; `amount` is rounded, `unit_price` as agreed."""

    text: str
    why: str
    quantity: Decimal
    unit_price: Decimal
    amount: Decimal


@dataclass(frozen=True)
class PaperTax:
    name: str
    percent: Decimal
    amount: Decimal


@dataclass(frozen=True)
class Labels:
    """The words of the table, in the paper's language."""

    to: str
    line: str
    quantity: str
    price: str
    amount: str
    net: str
    total: str


@dataclass(frozen=True)
class MoneyPaper:
    """`facts` are label and value below the address; `remarks` heading and text below the total.

    `scan` is an address drawn as a code to scan, with `scan_words` beside it; none when empty.
    """

    letterhead: Letterhead
    block: TitleBlock
    words: Words
    labels: Labels
    buyer: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    lines: tuple[PaperLine, ...]
    taxes: tuple[PaperTax, ...]
    net: Decimal
    total: Decimal
    currency: str
    locale: str
    remarks: tuple[tuple[str, str], ...] = ()
    scan: str = ""
    scan_words: str = ""


def draw_money_paper(paper: MoneyPaper) -> bytes:
    """The paper as a PDF."""
    story = [_addressee(paper), gap(3), _lines(paper), gap(2), *_remarks(paper), *_scan(paper)]
    return draw_sheet(paper.letterhead, paper.block, story, paper.words)


def _addressee(paper: MoneyPaper) -> Table:
    to = [text(paper.labels.to, SMALL), text("\n".join(paper.buyer), BODY)]
    facts = [[text(label, SMALL), text(value, CELL)] for label, value in paper.facts]
    beside = Table(facts, colWidths=["38%", "62%"], style=_plain()) if facts else ""
    return Table([[to, beside]], colWidths=["50%", "50%"], style=_plain())


def _lines(paper: MoneyPaper) -> Table:
    labels = paper.labels
    body = [_row(paper, line) for line in paper.lines]
    taxes = [[f"{tax.name} {shortest(tax.percent)} %", "", "", _money(paper, tax.amount)] for tax in paper.taxes]
    sums = [[labels.net, "", "", _money(paper, paper.net)], *taxes, [labels.total, "", "", _money(paper, paper.total)]]
    head = (labels.line, labels.quantity, labels.price, labels.amount)
    return rows(head, [*body, *sums], WIDTHS, figures=(1, 2, 3), sums=len(sums))


def _row(paper: MoneyPaper, line: PaperLine) -> list[str | list[Flowable]]:
    return [
        words_and_why(line.text, line.why),
        format_number(Decimal(shortest(line.quantity)), paper.locale),
        format_rate(Decimal(shortest(line.unit_price)), paper.currency, paper.locale),
        _money(paper, line.amount),
    ]


def _remarks(paper: MoneyPaper) -> list[Flowable]:
    return [
        KeepTogether([text(heading, HEADING), text(words, BODY)]) for heading, words in paper.remarks if words
    ]  # fmt: skip


def _scan(paper: MoneyPaper) -> Sequence[Flowable]:
    """The code with its address in letters beside it, for whoever reads this on paper."""
    if not paper.scan:
        return []
    beside = [text(paper.scan_words, BODY), text(paper.scan, SMALL)]
    return [gap(2), Table([[QrCode(paper.scan, 34), beside]], colWidths=["24%", "76%"], style=_plain("MIDDLE"))]


def _money(paper: MoneyPaper, amount: Decimal) -> str:
    return format_money(amount, paper.currency, paper.locale)


def _plain(alignment: str = "TOP") -> list[tuple[object, ...]]:
    return [
        ("FONT", (0, 0), (-1, -1), REGULAR),
        ("VALIGN", (0, 0), (-1, -1), alignment),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 4),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
    ]
