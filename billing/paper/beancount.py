"""The journal as a plain-text ledger in the Beancount language (version 2 and 3).

Source: "Beancount Language Syntax", beancount.github.io/docs.
"""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import timedelta
from decimal import Decimal

from billing.rules.journal import Account, Entry, Posting, balances

ROOTS = {
    Account.BANK: "Assets:Bank",
    Account.RECEIVABLE: "Assets:Receivable",
    Account.CLIENT_CREDIT: "Liabilities:Client-credit",
    Account.TAX_OWED: "Liabilities:Tax",
    Account.INCOME: "Income:Services",
    Account.LATE_CHARGES: "Income:Late-charges",
    Account.ROUNDING: "Expenses:Rounding",
    Account.BAD_DEBTS: "Expenses:Bad-debts",
}
BY_DETAIL = {Account.TAX_OWED, Account.INCOME}
"""Accounts that are divided by detail. Clients stay out of account names: they are the payee of each entry."""


def ledger(entries: Sequence[Entry], *, title: str) -> str:
    """The whole text: options, accounts, entries by date, and what every account must come to at the end."""
    ordered = sorted(entries, key=lambda each: each.on)
    parts = [_options(title, {each.currency for each in ordered})]
    if ordered:
        parts += [_openings(ordered), *(_transaction(each) for each in ordered), _closing_balances(ordered)]
    return "\n\n".join(parts) + "\n"


def account_name(account: Account, detail: str = "") -> str:
    """Such as Liabilities:Tax:Sales-tax-7-25; a part begins with a capital or a digit, then letters, digits, dashes."""
    if account not in BY_DETAIL or not detail:
        return ROOTS[account]
    return f"{ROOTS[account]}:{_component(detail)}"


def _component(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    dashed = re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-")
    return dashed[:1].upper() + dashed[1:] or "Other"


def _options(title: str, currencies: Iterable[str]) -> str:
    lines = [f'option "title" {_quoted(title)}']
    return "\n".join([*lines, *(f'option "operating_currency" "{currency}"' for currency in sorted(currencies))])


def _openings(ordered: Sequence[Entry]) -> str:
    names = sorted({_name(posting) for each in ordered for posting in each.postings})
    return "\n".join(f"{ordered[0].on.isoformat()} open {name}" for name in names)


def _transaction(each: Entry) -> str:
    head = f"{each.on.isoformat()} * {_quoted(each.client)} {_quoted(each.text)}{_links(each)}"
    return "\n".join([head, *(_line(posting, each.currency) for posting in each.postings)])


def _links(each: Entry) -> str:
    numbers = dict.fromkeys([each.document, *(posting.invoice for posting in each.postings)])
    return "".join(f" ^{re.sub(r'[^A-Za-z0-9_/.-]', '-', number)}" for number in numbers if number)


def _line(posting: Posting, currency: str) -> str:
    return f"  {_name(posting):<40}  {posting.amount:f} {currency}"


def _closing_balances(ordered: Sequence[Entry]) -> str:
    # A balance is asserted at the start of its day, so the day after the last entry.
    day = (ordered[-1].on + timedelta(days=1)).isoformat()
    totals: dict[tuple[str, str], Decimal] = {}
    for (account, detail, currency), amount in balances(ordered).items():
        place = account_name(account, detail), currency
        totals[place] = totals.get(place, Decimal(0)) + amount
    return "\n".join(f"{day} balance {name:<40}  {totals[name, unit]:f} {unit}" for name, unit in sorted(totals))


def _name(posting: Posting) -> str:
    return account_name(posting.account, posting.detail)


def _quoted(text: str) -> str:
    one_line = " ".join(text.split())
    return '"' + one_line.replace("\\", "\\\\").replace('"', '\\"') + '"'
