"""Quotes: a priced offer with an end date. Lines, taxes and terms are copied onto it and never change."""

from datetime import datetime

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.models import Client, Shoot, ShootState
from office.models import Stateful
from office.models.fields import MoneyField

from .rate_card import RateCard, TaxRounding


class QuoteState(models.TextChoices):
    OFFERED = "offered", _("Offered")
    ACCEPTED = "accepted", _("Accepted")
    DECLINED = "declined", _("Declined")
    LAPSED = "lapsed", _("Lapsed")
    WITHDRAWN = "withdrawn", _("Withdrawn")


STANDING = (QuoteState.OFFERED, QuoteState.ACCEPTED)
"""The states in which a quote binds the office; a shoot has at most one such quote."""


class QuoteQuerySet(models.QuerySet["Quote"]):
    def standing(self) -> "QuoteQuerySet":
        """Offered or accepted."""
        return self.filter(state__in=STANDING)

    def past_their_end(self, now: datetime) -> "QuoteQuerySet":
        """Offers that have run out, or whose visit was called off."""
        called_off = Q(shoot__state__in=(ShootState.CANCELLED, ShootState.NO_ACCESS, ShootState.CLOSED))
        return self.filter(Q(valid_until__lte=now) | called_off, state=QuoteState.OFFERED)

    def ending_before(self, moment: datetime) -> "QuoteQuerySet":
        """Offers that end soon, the first to end first."""
        return self.filter(state=QuoteState.OFFERED, valid_until__lte=moment).order_by("valid_until", "pk")

    def accepted_without_time(self) -> "QuoteQuerySet":
        """Orders the client has said yes to, whose visit nobody has put in the diary."""
        return self.filter(
            state=QuoteState.ACCEPTED, shoot__state=ShootState.PENCILLED, shoot__starts_at=None
        ).order_by("answered_at", "pk")

    def with_lines(self) -> "QuoteQuerySet":
        return self.select_related("client", "shoot__property", "card").prefetch_related("lines", "taxes")


class Quote(Stateful):
    """One offer for one shoot under one rate card."""

    ALLOWED = {
        QuoteState.OFFERED: frozenset(
            {QuoteState.ACCEPTED, QuoteState.DECLINED, QuoteState.LAPSED, QuoteState.WITHDRAWN}
        ),
        QuoteState.ACCEPTED: frozenset({QuoteState.WITHDRAWN}),
        QuoteState.DECLINED: frozenset(),
        QuoteState.LAPSED: frozenset(),
        QuoteState.WITHDRAWN: frozenset(),
    }

    number = models.CharField(_("number"), max_length=20, unique=True)
    shoot = models.ForeignKey(Shoot, models.PROTECT, related_name="quotes")
    client = models.ForeignKey(Client, models.PROTECT, related_name="quotes")
    card = models.ForeignKey(RateCard, models.PROTECT, related_name="quotes")
    state = models.CharField(max_length=10, choices=QuoteState, default=QuoteState.OFFERED)
    offered_at = models.DateTimeField(_("offered"))
    valid_until = models.DateTimeField(_("valid until"))
    ordered = models.JSONField(help_text="What was priced, as the JOB of the price command.")
    currency = models.CharField(max_length=3)
    net = MoneyField()
    total = MoneyField()
    tax_rounding = models.CharField(max_length=7, choices=TaxRounding, default=TaxRounding.INVOICE)
    deposit_percent = models.DecimalField(max_digits=5, decimal_places=2, default=0)
    deposit = MoneyField(_("deposit, with tax"), default=0)
    seller = models.JSONField(default=dict)
    buyer = models.JSONField(default=dict)
    terms = models.TextField(blank=True)
    cautions = models.JSONField(default=list, help_text="What the price rests on, a sentence each.")
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.CharField(max_length=160, blank=True)
    answered_from = models.CharField(max_length=50, blank=True)
    answer_note = models.CharField(max_length=300, blank=True)

    objects = QuoteQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["state", "valid_until"], name="quote_by_end"),
            models.Index(fields=["client", "-id"], name="quote_of_client"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["shoot"], condition=Q(state__in=["offered", "accepted"]), name="one_standing_quote_a_shoot"
            )
        ]

    def __str__(self) -> str:
        return f"Quote {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("billing:quote", args=[self.number])


class PricedLine(models.Model):
    """A line of money with its reason, as the pricing rule gives it."""

    position = models.PositiveSmallIntegerField()
    code = models.CharField(max_length=40)
    text = models.CharField(max_length=200)
    quantity = models.DecimalField(max_digits=14, decimal_places=4)
    unit_price = MoneyField(max_digits=18, decimal_places=6)
    amount = MoneyField()
    why = models.CharField(max_length=300, blank=True)

    class Meta:
        abstract = True
        ordering = ["position"]

    def __str__(self) -> str:
        return self.text


class PricedTax(models.Model):
    """A tax on a base, as computed when the paper was made."""

    name = models.CharField(max_length=60)
    percent = models.DecimalField(max_digits=7, decimal_places=4)
    base = MoneyField()
    amount = MoneyField()

    class Meta:
        abstract = True
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name


class QuoteLine(PricedLine):
    quote = models.ForeignKey(Quote, models.CASCADE, related_name="lines")


class QuoteTax(PricedTax):
    quote = models.ForeignKey(Quote, models.CASCADE, related_name="taxes")


class TrueUpState(models.TextChoices):
    PROPOSED = "proposed", _("Proposed")
    ACCEPTED = "accepted", _("Accepted")
    WAIVED = "waived", _("Waived")


class TrueUp(Stateful):
    """The price difference when the measured area is not the stated area; the owner accepts or waives it."""

    ALLOWED = {
        TrueUpState.PROPOSED: frozenset({TrueUpState.ACCEPTED, TrueUpState.WAIVED}),
        TrueUpState.ACCEPTED: frozenset(),
        TrueUpState.WAIVED: frozenset(),
    }

    quote = models.OneToOneField(Quote, models.PROTECT, related_name="true_up")
    state = models.CharField(max_length=10, choices=TrueUpState, default=TrueUpState.PROPOSED)
    stated_area_m2 = models.DecimalField(max_digits=10, decimal_places=4)
    measured_area_m2 = models.DecimalField(max_digits=10, decimal_places=4)
    difference = MoneyField(_("difference, net"))
    why = models.CharField(max_length=300)
    proposed_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"True-up of {self.quote}"
