"""The office's details, in the order they are asked on the first day."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _
from iso4217 import Currency

from office.models import Office
from office.rules.money import UnknownCurrency, minor_units

from .base import RowForm, parts
from .hours import HoursField

PARTS = {
    _("Who we are"): ["name", "street", "town", "region", "postcode", "country", "email", "phone", "tax_number"],
    _("Place, money and units"): ["zone", "locale", "currency", "area_unit", "latitude", "longitude"],
    _("When we work"): ["hours"],
    _("How long things stand"): ["hold_hours", "quote_days", "invoice_days", "link_days"],
    _("Orders and quotes"): [
        "order_page_open", "largest_area_m2", "most_levels", "area_tolerance_percent", "deposit_percent", "quote_terms",
        "payment_text",
    ],
}  # fmt: skip


class OfficeForm(RowForm):
    hours = HoursField(label=_("Working hours"))

    class Meta:
        model = Office
        fields = [name for names in PARTS.values() for name in names]
        widgets = {"quote_terms": forms.Textarea(attrs={"rows": 3}), "payment_text": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper.layout = parts(PARTS)

    def clean_currency(self) -> str:
        currency = self.cleaned_data["currency"].upper()
        try:
            minor_units(currency)
        except UnknownCurrency:
            known = ", ".join(("USD", "EUR", "GBP"))
            raise forms.ValidationError(
                _("%(code)s is not one of the %(count)s ISO 4217 currencies, such as %(known)s.")
                % {"code": currency, "count": len(Currency), "known": known}
            ) from None
        return currency

    def clean_country(self) -> str:
        return self.cleaned_data["country"].upper()
