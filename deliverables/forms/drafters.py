"""A drafter's details, in the order they are asked on the phone."""

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from deliverables.models import Drafter
from office.forms.base import RowForm
from office.forms.hours import HoursField
from office.rules.money import UnknownCurrency, minor_units


class DaysField(forms.CharField):
    """Days closed as text, one date a line, kept as ISO 8601 dates."""

    widget = forms.Textarea

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(value) if isinstance(value, list) else value

    def to_python(self, value: Any) -> list[str]:
        return sorted({self._day(word) for word in (value or "").replace(",", " ").split()})

    def _day(self, word: str) -> str:
        try:
            return date.fromisoformat(word).isoformat()
        except ValueError:
            raise forms.ValidationError(_("%(word)s is not a date such as 2027-12-24.") % {"word": word[:20]}) from None


class DrafterForm(RowForm):
    hours = HoursField(label=_("Working hours"))
    holidays = DaysField(
        label=_("Days closed"), required=False, help_text=_("One date a line, such as 2027-12-24."),
        widget=forms.Textarea(attrs={"rows": 3}),
    )  # fmt: skip

    class Meta:
        model = Drafter
        fields = [
            "name", "contact_name", "email", "second_email", "phone", "zone", "hours", "holidays",
            "plan_hours", "fix_hours", "price_per_plan", "price_per_m2", "price_per_level", "currency", "active",
        ]  # fmt: skip
        widgets = {"zone": forms.TextInput(attrs={"list": "zones"})}

    def clean_hours(self) -> dict[str, Any]:
        hours = self.cleaned_data["hours"]
        if not hours:
            raise forms.ValidationError(_("A drafter works at least on one day; promises run in these hours."))
        return hours

    def clean_currency(self) -> str:
        currency = self.cleaned_data["currency"].upper()
        try:
            minor_units(currency)
        except UnknownCurrency:
            raise forms.ValidationError(_("This is not an ISO 4217 currency such as USD.")) from None
        return currency
