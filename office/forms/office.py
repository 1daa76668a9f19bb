"""The office's details, in the order they are asked on the first day."""

from django import forms
from django.utils.translation import gettext_lazy as _
from iso4217 import Currency

from office.models import Office
from office.rules.money import UnknownCurrency, minor_units

from .base import RowForm
from .hours import HoursField


class OfficeForm(RowForm):
    hours = HoursField(label=_("Working hours"))

    class Meta:
        model = Office
        fields = [
            "name", "street", "town", "region", "postcode", "country", "email", "phone", "tax_number",
            "zone", "locale", "currency", "area_unit", "hours",
            "hold_hours", "quote_days", "deposit_percent", "invoice_days", "link_days", "area_tolerance_percent",
            "order_page_open", "quote_terms", "payment_text",
        ]  # fmt: skip
        widgets = {"quote_terms": forms.Textarea(attrs={"rows": 3}), "payment_text": forms.Textarea(attrs={"rows": 2})}

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
