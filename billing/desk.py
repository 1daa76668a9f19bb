"""What the second floor hangs up on the ground floor: its matters, its parts of the job page, its chores, its links."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from billing.actions.invoice_lines import left_to_invoice
from billing.actions.invoices import BY_HAND
from billing.actions.ledger import Standee, standings
from billing.actions.pricing import card_in_force, local_day, price_shoot
from billing.actions.quotes import QUOTABLE, lapse_quotes
from billing.models import Invoice, InvoiceState, PlacedOrder, Quote, QuoteState, TrueUp, TrueUpState
from billing.models.quote import STANDING
from jobs.models import Shoot
from office.errors import Refused
from office.models import Office, Purpose
from office.registry import JobSection, Matter, registry
from office.rules.money_format import format_money

SOON = timedelta(days=2)
"""How long before its end an open offer comes to the desk."""


def matters(now: datetime) -> Iterator[Matter]:
    today = local_day(now)
    yield from map(_offer_ends, Quote.objects.ending_before(now + SOON).select_related("client", "shoot__property"))
    without_time = Quote.objects.accepted_without_time().select_related("client", "shoot__property")
    yield from map(_accepted_without_time, without_time)
    overdue = Invoice.objects.overdue(today).with_paid().select_related("client", "shoot")
    yield from (_overdue(standee) for standee in standings(overdue, today))
    yield from map(_not_issued, Invoice.objects.drafts().select_related("client", "shoot__property"))
    proposed = TrueUp.objects.filter(state=TrueUpState.PROPOSED).select_related("quote__shoot__property")
    yield from map(_true_up, proposed.order_by("proposed_at", "pk"))
    yield from map(_ordered, PlacedOrder.objects.unanswered().select_related("shoot__client", "shoot__property"))


def _offer_ends(quote: Quote) -> Matter:
    return Matter(
        key=f"quote-ends:{quote.pk}",
        text=_("%(number)s for %(shoot)s ends soon") % {"number": quote.number, "shoot": quote.shoot},
        why=_("%(client)s has not answered yet.") % {"client": quote.client},
        since=quote.offered_at,
        url=quote.get_absolute_url(),
        action=_("Ask the client"),
        weight=40,
    )


def _accepted_without_time(quote: Quote) -> Matter:
    return Matter(
        key=f"quote-no-time:{quote.pk}",
        text=_("%(number)s is accepted, but %(shoot)s has no time") % {"number": quote.number, "shoot": quote.shoot},
        why=_("%(client)s said yes and waits to hear when; wished days: %(days)s")
        % {"client": quote.client, "days": quote.shoot.wished_days or _("none named")},
        since=quote.answered_at,
        url=reverse("jobs:shoot-time", args=[quote.shoot.number]),
        action=_("Set a time"),
        weight=85,
    )


def _overdue(standee: Standee) -> Matter:
    invoice, standing = standee.invoice, standee.standing
    open_amount = format_money(standing.open, invoice.currency, Office.the().locale)
    facts = {"days": standing.days_overdue, "open": open_amount, "client": invoice.client}
    return Matter(
        key=f"overdue:{invoice.pk}",
        text=_("%s is overdue") % invoice.number,
        why=ngettext(
            "%(client)s owes %(open)s, %(days)d day past due.", "%(client)s owes %(open)s, %(days)d days past due.",
            standing.days_overdue,
        ) % facts,
        since=Office.the().midnight(invoice.due_on + timedelta(days=1)),
        url=invoice.get_absolute_url(),
        action=_("Ask for the money"),
        weight=min(60 + standing.days_overdue, 95),
    )  # fmt: skip


def _not_issued(invoice: Invoice) -> Matter:
    return Matter(
        key=f"draft:{invoice.pk}",
        text=_("An invoice for %s waits to be issued") % (invoice.shoot or invoice.client),
        why=_("It is drawn up: %s. Nobody can pay it before it is issued.")
        % format_money(invoice.total, invoice.currency, Office.the().locale),
        since=invoice.drawn_up_at,
        url=invoice.get_absolute_url(),
        action=_("Issue it"),
        weight=55,
    )


def _true_up(true_up: TrueUp) -> Matter:
    quote = true_up.quote
    return Matter(
        key=f"true-up:{true_up.pk}",
        text=_("%s measures otherwise than stated") % quote.shoot,
        why=f"{true_up.why}: {format_money(true_up.difference, quote.currency, Office.the().locale)}",
        since=true_up.proposed_at,
        url=quote.shoot.get_absolute_url() + "#money",
        action=_("Accept or waive"),
        weight=45,
    )


def _ordered(order: PlacedOrder) -> Matter:
    shoot = order.shoot
    shown = (
        _("The page showed %s.") % format_money(order.shown_total, order.shown_currency, Office.the().locale)
        if order.shown_total is not None
        else _("The page promised a call.")
    )
    return Matter(
        key=f"ordered:{shoot.pk}",
        text=_("%(client)s ordered %(shoot)s on the order page") % {"client": shoot.client.name, "shoot": shoot},
        why=_("No quote is offered yet. %s") % shown,
        since=order.placed_at,
        url=shoot.get_absolute_url() + "#order",
        action=_("Offer a quote"),
        weight=75,
    )


def order_section(request: HttpRequest, shoot_id: int) -> dict[str, Any]:
    """What is ordered and what it costs: the standing quote, or the price as it would be quoted now."""
    shoot = Shoot.objects.select_related("client", "property", "package").prefetch_related("add_ons__add_on")
    found = shoot.get(pk=shoot_id)
    shown = {"owner": request.user.is_owner, "shoot": found}
    if not request.user.is_owner:
        return shown
    quotes = list(found.quotes.with_lines().order_by("-pk"))
    standing = next((quote for quote in quotes if quote.state in STANDING), None)
    return {**shown, "quotes": quotes, "standing": standing, **({} if standing else _priced_now(found))}


def _priced_now(shoot: Shoot) -> dict[str, Any]:
    if shoot.state not in QUOTABLE:
        return {}
    now = timezone.now()
    try:
        return {"shown": price_shoot(shoot=shoot, rate_card=card_in_force(shoot.client, now), now=now)}
    except Refused as refusal:
        return {"refusal": refusal.message}


def money_section(request: HttpRequest, shoot_id: int) -> dict[str, Any]:
    """The shoot's invoices, its true-up, and whether something is left to invoice."""
    if not request.user.is_owner:
        return {"owner": False}
    shoot = Shoot.objects.get(pk=shoot_id)
    invoices = shoot.invoices.with_paid().select_related("client", "shoot__property").order_by("pk")
    true_up = TrueUp.objects.filter(quote__shoot=shoot).select_related("quote").order_by("-pk").first()
    return {
        "owner": True,
        "shoot": shoot,
        "standees": standings(invoices, local_day(timezone.now())),
        "true_up": true_up,
        "may_draw_up": _may_draw_up(shoot),
    }


def _may_draw_up(shoot: Shoot) -> bool:
    if shoot.invoices.filter(state=InvoiceState.DRAFT).exists():
        return False
    quote = shoot.quotes.filter(state=QuoteState.ACCEPTED).first()
    return shoot.state in BY_HAND or (quote is not None and bool(left_to_invoice(quote)))


def hang_up() -> None:
    """Called once, when the program starts."""
    registry.matters.append(matters)
    registry.chores.append(lapse_quotes)
    registry.sections += [
        JobSection(10, "order", gettext_lazy("Order and price"), "billing/sections/order.html", order_section),
        JobSection(60, "money", gettext_lazy("Money"), "billing/sections/money.html", money_section),
    ]
    registry.landings[Purpose.QUOTE] = "billing:client-quote"
    registry.landings[Purpose.INVOICE] = "billing:client-invoice"
