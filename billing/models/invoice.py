"""Invoices, payments and what was paid with what.

An issued invoice is frozen: seller, buyer, lines and rates are copies.
"""

from datetime import date
from decimal import Decimal

from django.db import models
from django.db.models import F, Q, Sum, Value
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.models import Client, Shoot
from office.models import Stateful
from office.models.fields import MoneyField

from .quote import PricedLine, PricedTax, Quote
from .rate_card import TaxRounding


class InvoiceState(models.TextChoices):
    DRAFT = "draft", _("Draft")
    ISSUED = "issued", _("Issued")
    SETTLED = "settled", _("Settled")
    VOID = "void", _("Void")


class InvoiceKind(models.TextChoices):
    WORK = "work", _("Work")
    DEPOSIT = "deposit", _("Deposit")


class InvoiceQuerySet(models.QuerySet["Invoice"]):
    def with_paid(self) -> "InvoiceQuerySet":
        """Each with `paid`, the sum allocated to it."""
        zero = Value(Decimal(0), output_field=MoneyField())
        return self.annotate(paid=Coalesce(Sum("allocations__amount"), zero))

    def owing(self) -> "InvoiceQuerySet":
        """Issued and not wholly paid, the longest due first."""
        return self.filter(state=InvoiceState.ISSUED).order_by("due_on", "pk")

    def overdue(self, today: date) -> "InvoiceQuerySet":
        return self.owing().filter(due_on__lt=today)

    def drafts(self) -> "InvoiceQuerySet":
        """Drawn up and not issued, the oldest first."""
        return self.filter(state=InvoiceState.DRAFT).order_by("drawn_up_at", "pk")

    def on_paper(self) -> "InvoiceQuerySet":
        """With all that stands on one."""
        return self.select_related("client", "shoot__property", "quote").prefetch_related("lines", "taxes")

    def is_paid(self, shoot: Shoot) -> bool:
        """Whether the work on a shoot is invoiced and every invoice of the shoot is settled; a deposit alone is not."""
        issued = self.filter(shoot=shoot, state__in=(InvoiceState.ISSUED, InvoiceState.SETTLED))
        states = issued.values_list("kind", "state")
        return any(kind == InvoiceKind.WORK for kind, _state in states) and all(
            state == InvoiceState.SETTLED for _kind, state in states
        )


class Invoice(Stateful):
    """What a client owes for one or more shoots. The number is given at issue, without gaps."""

    ALLOWED = {
        InvoiceState.DRAFT: frozenset({InvoiceState.ISSUED, InvoiceState.VOID}),
        InvoiceState.ISSUED: frozenset({InvoiceState.SETTLED}),
        InvoiceState.SETTLED: frozenset({InvoiceState.ISSUED}),
        InvoiceState.VOID: frozenset(),
    }

    kind = models.CharField(max_length=8, choices=InvoiceKind, default=InvoiceKind.WORK)
    series = models.CharField(max_length=10, default="INV")
    year = models.PositiveSmallIntegerField(null=True, blank=True)
    running = models.PositiveIntegerField(null=True, blank=True)
    number = models.CharField(_("number"), max_length=24, unique=True, null=True, blank=True)
    client = models.ForeignKey(Client, models.PROTECT, related_name="invoices")
    shoot = models.ForeignKey(Shoot, models.PROTECT, null=True, blank=True, related_name="invoices")
    quote = models.ForeignKey(Quote, models.PROTECT, null=True, blank=True, related_name="invoices")
    state = models.CharField(max_length=8, choices=InvoiceState, default=InvoiceState.DRAFT)
    drawn_up_at = models.DateTimeField()
    issued_on = models.DateField(_("issued"), null=True, blank=True)
    supplied_on = models.DateField(_("date of the visit"), null=True, blank=True)
    due_on = models.DateField(_("due"), null=True, blank=True)
    currency = models.CharField(max_length=3)
    tax_rounding = models.CharField(max_length=7, choices=TaxRounding, default=TaxRounding.INVOICE)
    seller = models.JSONField(default=dict)
    buyer = models.JSONField(default=dict)
    net = MoneyField()
    total = MoneyField()
    payment_text = models.TextField(blank=True)

    objects = InvoiceQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["state", "due_on", "id"], name="invoice_owing"),
            models.Index(fields=["client", "-id"], name="invoice_of_client"),
            models.Index(fields=["issued_on"], name="invoice_by_day"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["series", "year", "running"], name="invoice_number_once"),
            models.UniqueConstraint(fields=["shoot"], condition=Q(state="draft"), name="one_draft_a_shoot"),
            models.UniqueConstraint(
                fields=["quote"], condition=Q(kind="deposit") & ~Q(state="void"), name="one_deposit_a_quote"
            ),
            models.CheckConstraint(
                condition=Q(state__in=["draft", "void"], number=None) | Q(number__isnull=False, due_on__isnull=False),
                name="issued_invoice_is_numbered",
            ),
        ]

    def __str__(self) -> str:
        return f"Invoice {self.number}" if self.number else _("Invoice draft %s") % self.pk

    def get_absolute_url(self) -> str:
        return reverse("billing:invoice", args=[self.pk])


class InvoiceLine(PricedLine):
    """A line of an invoice; one that `deducts` takes off what an earlier invoice has billed, its tax with it."""

    invoice = models.ForeignKey(Invoice, models.CASCADE, related_name="lines")
    deducts = models.ForeignKey(Invoice, models.PROTECT, null=True, blank=True, related_name="+")


class InvoiceTax(PricedTax):
    invoice = models.ForeignKey(Invoice, models.CASCADE, related_name="taxes")


class PaymentMethod(models.TextChoices):
    TRANSFER = "transfer", _("Bank transfer")
    CARD = "card", _("Card")
    CHEQUE = "cheque", _("Cheque")
    CASH = "cash", _("Cash")


class PaymentQuerySet(models.QuerySet["Payment"]):
    def with_credit(self) -> "PaymentQuerySet":
        """Payments not used up, the oldest first."""
        return self.filter(credit__gt=0).order_by("received_on", "pk")


class Payment(models.Model):
    """Money received from a client. `credit` is what no invoice has taken yet: amount less allocations, always."""

    client = models.ForeignKey(Client, models.PROTECT, related_name="payments")
    received_on = models.DateField(_("received"))
    amount = MoneyField(_("amount"))
    credit = MoneyField(_("credit left"))
    currency = models.CharField(max_length=3)
    method = models.CharField(_("how"), max_length=10, choices=PaymentMethod, default=PaymentMethod.TRANSFER)
    reference = models.CharField(_("reference"), max_length=80, blank=True)
    noted_at = models.DateTimeField()

    objects = PaymentQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["client", "-id"], name="payment_of_client"),
            models.Index(fields=["received_on"], name="payment_by_day"),
            models.Index(fields=["client", "received_on"], condition=Q(credit__gt=0), name="payment_with_credit"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(amount__gt=0), name="payment_positive"),
            models.CheckConstraint(condition=Q(credit__gte=0, credit__lte=F("amount")), name="credit_within_payment"),
        ]

    def __str__(self) -> str:
        return _("Payment %s") % self.pk


class Allocation(models.Model):
    """The part of a payment that pays an invoice."""

    payment = models.ForeignKey(Payment, models.PROTECT, related_name="allocations")
    invoice = models.ForeignKey(Invoice, models.PROTECT, related_name="allocations")
    amount = MoneyField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["payment", "invoice"], name="one_allocation_a_pair"),
            models.CheckConstraint(condition=Q(amount__gt=0), name="allocation_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.amount} of {self.payment}"
