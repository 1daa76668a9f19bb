"""A period of past jobs, and the card to price them by."""

from datetime import date
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _

from billing.models import RateCard
from office.forms.base import PlainForm, local_day

WITHIN = [MinValueValidator(date(1970, 1, 1)), MaxValueValidator(date(2199, 12, 31))]


class RepriceForm(PlainForm):
    card = forms.ModelChoiceField(label=_("Rate card"), queryset=RateCard.objects.order_by("-number"))
    first_day = local_day(label=_("Quotes accepted from"), validators=WITHIN)
    last_day = local_day(label=_("until"), validators=WITHIN)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["card"].label_from_instance = lambda card: f"{card}: {card.name}" if card.name else str(card)

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or self.cleaned_data
        first, last = typed.get("first_day"), typed.get("last_day")
        if first and last and last < first:
            self.add_error("last_day", _("Expected a day that is not before the first."))
        return typed
