"""The public order, in the order a visitor knows the answers: the house, then who they are."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from billing.actions.orders import WantedHouse
from billing.actions.public_offer import PublicOffer
from office.forms.base import PlainForm
from office.models import AreaUnitChoice
from office.rules.units import STORED_AREA, AreaUnit, converted_area

LARGEST_M2 = Decimal(100_000)


class HouseForm(PlainForm):
    """What the price rests on. Choices come with the offer, so that a keystroke asks the database nothing."""

    package = forms.ChoiceField(label=_("What you want"), widget=forms.RadioSelect)
    add_ons = forms.MultipleChoiceField(
        label=_("Also"), required=False, widget=forms.CheckboxSelectMultiple
    )  # fmt: skip
    area = forms.DecimalField(label=_("Floor area"), min_value=1, max_digits=9, decimal_places=2)
    area_unit = forms.ChoiceField(label=_("Measured in"), choices=AreaUnitChoice)
    levels = forms.IntegerField(
        label=_("Levels"), min_value=1, max_value=60, help_text=_("With the basement, without the attic.")
    )

    def __init__(self, *args: Any, offer: PublicOffer | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        packages = offer.packages if offer else ()
        self.fields["package"].choices = [(code, f"{name}: {text}" if text else name) for code, name, text in packages]
        self.fields["add_ons"].choices = list(offer.add_ons) if offer else []
        if not self.fields["add_ons"].choices:
            del self.fields["add_ons"]

    def clean(self) -> dict[str, Any]:
        """The area is kept in square metres, whatever it was typed in."""
        typed = super().clean() or self.cleaned_data
        if "area" in typed and "area_unit" in typed:
            square_metres = converted_area(typed["area"], AreaUnit(typed["area_unit"]), AreaUnit.M2)
            typed["area_m2"] = square_metres.quantize(STORED_AREA)
            if square_metres > LARGEST_M2:
                self.add_error("area", _("That is larger than any house."))
        return typed

    def wanted(self) -> WantedHouse:
        typed = self.cleaned_data
        return WantedHouse(typed["package"], tuple(typed.get("add_ons", ())), typed["area_m2"], typed["levels"])


class OrderForm(HouseForm):
    """The whole order. `website` is a field that people do not see and programs fill in."""

    street = forms.CharField(label=_("Street and number"), max_length=160)
    unit = forms.CharField(label=_("Unit"), max_length=40, required=False)
    town = forms.CharField(label=_("Town"), max_length=80)
    region = forms.CharField(label=_("State or region"), max_length=80, required=False)
    postcode = forms.CharField(label=_("Postcode"), max_length=20, required=False)
    wished_days = forms.CharField(
        label=_("Days that suit you"), max_length=200, required=False,
        help_text=_("Such as Tuesday or Thursday morning."),
    )  # fmt: skip
    # What is asked of the visitor themselves is named for their browser, so that it can fill it in (WCAG 2.2, 1.3.5).
    name = forms.CharField(label=_("Your name"), max_length=160, widget=forms.TextInput({"autocomplete": "name"}))
    company = forms.CharField(
        label=_("Company"), max_length=160, required=False, widget=forms.TextInput({"autocomplete": "organization"})
    )
    email = forms.EmailField(label=_("Email"), widget=forms.EmailInput({"autocomplete": "email"}))
    phone = forms.CharField(
        label=_("Phone"), max_length=40, widget=forms.TextInput({"type": "tel", "autocomplete": "tel"})
    )
    notes = forms.CharField(
        label=_("Anything we should know"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("Please write no entry codes here."),
    )  # fmt: skip
    website = forms.CharField(label=_("Leave this empty"), required=False)

    HOUSE = ("package", "add_ons", "area", "area_unit", "levels")
    ADDRESS = ("street", "unit", "town", "region", "postcode")
    CONTACT = ("name", "company", "email", "phone")

    def order(self) -> dict[str, Any]:
        """What `place_order` takes."""
        typed = self.cleaned_data
        return {
            "wanted": self.wanted(),
            "client": {name: typed[name] for name in self.CONTACT},
            "address": {name: typed[name] for name in self.ADDRESS},
            "wished_days": typed["wished_days"],
            "notes": typed["notes"],
        }

    def fields_of(self, names: tuple[str, ...]) -> list[forms.BoundField]:
        return [self[name] for name in names if name in self.fields]

    @property
    def house_fields(self) -> list[forms.BoundField]:
        return self.fields_of(self.HOUSE)

    @property
    def address_fields(self) -> list[forms.BoundField]:
        return self.fields_of(self.ADDRESS)

    @property
    def contact_fields(self) -> list[forms.BoundField]:
        return self.fields_of((*self.CONTACT, "wished_days", "notes"))
