"""The rows of a rate card: one form a row, each giving its part of the CARD file."""

from itertools import pairwise
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from billing.models import AddOnPricing
from office.forms.base import OfficeFormMixin, PlainForm
from office.rules.money_format import shortest


def figure(label: str, *, places: int = 4, digits: int = 14, **kwargs: Any) -> forms.DecimalField:
    """A price, area, distance or percent: zero or more."""
    return forms.DecimalField(label=label, min_value=0, max_digits=digits, decimal_places=places, **kwargs)


def text_of(value: Any) -> str | None:
    """A typed figure as the CARD file writes it; None for an empty field."""
    return None if value is None else shortest(value)


class BandForm(PlainForm):
    up_to = figure(_("Up to"), digits=12, required=False)
    per_unit = figure(_("Each unit"), places=6, digits=12)

    def as_file(self) -> dict[str, Any]:
        return {name: text_of(self.cleaned_data[name]) for name in ("up_to", "per_unit")}


class TravelForm(PlainForm):
    up_to_km = figure(_("Up to km"), places=2, digits=8, required=False)
    fee = figure(_("Fee"))
    per_km_beyond = figure(_("Each km beyond"), required=False)
    beyond_km = figure(_("Beyond km"), places=2, digits=8, required=False)

    def clean(self) -> None:
        beyond = [name for name in ("per_km_beyond", "beyond_km") if self.cleaned_data.get(name) is None]
        if len(beyond) == 1 and not self.errors:
            self.add_error(beyond[0], _("Expected beside the other, or neither."))

    def as_file(self) -> dict[str, Any]:
        row = {name: text_of(value) for name, value in self.cleaned_data.items()}
        return {name: text for name, text in row.items() if text is not None or name == "up_to_km"}


class NoticeForm(PlainForm):
    under_hours = figure(_("Under hours"), places=2, digits=8)
    percent = figure(_("Percent"), places=2, digits=6)

    def as_file(self) -> dict[str, Any]:
        return {name: text_of(value) for name, value in self.cleaned_data.items()}


class VolumeForm(PlainForm):
    from_shoots = forms.IntegerField(label=_("From shoots"), min_value=1, max_value=1_000_000)
    percent_off = figure(_("Percent off"), places=2, digits=6, max_value=100)

    def as_file(self) -> dict[str, Any]:
        return {
            "from_shoots": self.cleaned_data["from_shoots"],
            "percent_off": text_of(self.cleaned_data["percent_off"]),
        }


class RowSet(forms.BaseFormSet):
    """Rows in the order they are tried. Blank rows are passed over; nothing that was typed is ever dropped."""

    rising = ""
    """The field that must grow from row to row, so that no row stands in the way of the next."""

    @property
    def written(self) -> list[Any]:
        """The forms that have something in them."""
        return [form for form in self.forms if form.has_changed()]

    def clean(self) -> None:
        for before, row in pairwise(self.written):
            if before.is_valid() and row.is_valid():
                self._check_rise(before, row)

    def _check_rise(self, before: forms.Form, row: forms.Form) -> None:
        low, high = before.cleaned_data.get(self.rising), row.cleaned_data.get(self.rising)
        if low is None:
            before.add_error(self.rising, _("Only the last row may be without an end."))
        elif high is not None and high <= low:
            row.add_error(self.rising, _("Expected more than %s of the row before.") % shortest(low))

    def as_file(self) -> list[dict[str, Any]]:
        return [form.as_file() for form in self.written]


class BandSet(RowSet):
    """Bands end one after the other, the last without end, so that they leave no gap and do not overlap."""

    rising = "up_to"

    def clean(self) -> None:
        super().clean()
        last = self.written[-1] if self.written else None
        if last is not None and last.is_valid() and last.cleaned_data["up_to"] is not None:
            last.add_error("up_to", _("Leave the last one empty: what lies beyond must have a price too."))


class TravelSet(RowSet):
    rising = "up_to_km"


class NoticeSet(RowSet):
    rising = "under_hours"


class VolumeSet(RowSet):
    rising = "from_shoots"


def row_set(form: type[forms.Form], base: type[RowSet]) -> type[RowSet]:
    return forms.formset_factory(form, formset=base, extra=0, max_num=50, absolute_max=60)


Bands = row_set(BandForm, BandSet)
Travel = row_set(TravelForm, TravelSet)
Notices = row_set(NoticeForm, NoticeSet)
Volumes = row_set(VolumeForm, VolumeSet)


class PackageForm(OfficeFormMixin, forms.Form):
    """One package of the office: on this card or not, and what it costs before its bands."""

    on_card = forms.BooleanField(label=_("On this card"), required=False)
    base = figure(_("Base"), required=False)
    includes_area = figure(_("Includes area"), digits=12, required=False)
    includes_levels = forms.IntegerField(label=_("Includes levels"), min_value=0, max_value=1000, required=False)
    per_extra_level = figure(_("Each further level"), required=False)

    PRICES = ("base", "includes_area", "includes_levels", "per_extra_level")

    def clean(self) -> None:
        if self.cleaned_data.get("on_card"):
            for name in self.PRICES:
                if self.cleaned_data.get(name) is None and name not in self.errors:
                    self.add_error(name, _("Expected a figure; 0 is one."))

    def as_file(self) -> dict[str, Any]:
        row = {name: text_of(self.cleaned_data[name]) for name in self.PRICES}
        return {**row, "includes_levels": self.cleaned_data["includes_levels"]}


class AddOnForm(OfficeFormMixin, forms.Form):
    """One add-on of the office: how it is priced on this card, if at all."""

    pricing = forms.ChoiceField(
        label=_("Priced"), required=False, choices=[("", _("Not on this card")), *AddOnPricing.choices]
    )
    amount = figure(_("Amount or percent"), places=6, required=False)
    at_least = figure(_("At least"), required=False)

    def clean(self) -> None:
        pricing, amount = self.cleaned_data.get("pricing"), self.cleaned_data.get("amount")
        if pricing and amount is None and "amount" not in self.errors:
            self.add_error("amount", _("Expected a figure; 0 is one."))
        if pricing != AddOnPricing.PER_UNIT_AREA and self.cleaned_data.get("at_least") is not None:
            self.add_error("at_least", _("Only for an add-on priced by area."))

    def as_file(self) -> dict[str, Any]:
        least = text_of(self.cleaned_data["at_least"])
        price = {self.cleaned_data["pricing"]: text_of(self.cleaned_data["amount"])}
        return price if least is None else price | {"at_least": least}
