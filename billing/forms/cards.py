"""The whole rate card as one page of forms, read from what was typed and never from the stored rows.

A stored card is turned into typed data first, so that showing, adding a row, trying a price and saving are one way.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from billing.models import TaxRounding
from billing.rules.card import Card, card_from_json
from jobs.models import AddOn, Client, Package
from office.forms.base import PlainForm, local_day
from office.models import AreaUnitChoice
from office.rules.money import UnknownCurrency, minor_units
from office.rules.reading import BadInput

from .card_rows import AddOnForm, Bands, Notices, PackageForm, RowSet, Travel, Volumes, figure, text_of


class HeaderForm(PlainForm):
    """What holds for the whole card."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=80, required=False)
    client = forms.ModelChoiceField(
        label=gettext_lazy("For one client only"), queryset=Client.objects.all(), required=False,
        empty_label=gettext_lazy("for everyone"),
    )  # fmt: skip
    starts_on = local_day(label=gettext_lazy("From"))
    currency = forms.CharField(label=gettext_lazy("Currency"), min_length=3, max_length=3)
    area_unit = forms.ChoiceField(label=gettext_lazy("Area unit"), choices=AreaUnitChoice)
    minimum = figure(gettext_lazy("At least, a visit"))
    weekend_percent = figure(gettext_lazy("Weekend, percent more"), places=2, digits=6)
    round_net_to = figure(gettext_lazy("Net rounded to a multiple of"))
    tax_rounding = forms.ChoiceField(label=gettext_lazy("Tax is rounded"), choices=TaxRounding)

    FIGURES = ("minimum", "weekend_percent", "round_net_to")

    def clean_currency(self) -> str:
        currency = str(self.cleaned_data["currency"]).upper()
        try:
            minor_units(currency)
        except UnknownCurrency:
            raise forms.ValidationError(_("Expected a currency of ISO 4217, such as USD, EUR or GBP.")) from None
        return currency

    def as_file(self) -> dict[str, Any]:
        typed = self.cleaned_data
        words = {name: typed[name] for name in ("currency", "area_unit", "tax_rounding")}
        return {
            "from": typed["starts_on"].isoformat(),
            **words,
            **{name: text_of(typed[name]) for name in self.FIGURES},
        }


@dataclass(frozen=True)
class PackagePart:
    """One package of the office, its prices and its bands."""

    package: Package
    form: PackageForm
    bands: RowSet

    @property
    def is_on_card(self) -> bool:
        return bool(self.form.is_valid() and self.form.cleaned_data["on_card"])


@dataclass(frozen=True)
class AddOnPart:
    add_on: AddOn
    form: AddOnForm


class CardForms:
    """Every form of one card; `data` is what was typed."""

    def __init__(self, data: Mapping[str, Any]) -> None:
        self.data = data
        self.header = HeaderForm(data)
        self.packages = [
            PackagePart(
                package, PackageForm(data, prefix=f"package-{package.pk}"), Bands(data, prefix=bands_of(package))
            )
            for package in Package.objects.all()
        ]
        self.add_ons = [AddOnPart(row, AddOnForm(data, prefix=f"add-on-{row.pk}")) for row in AddOn.objects.all()]
        self.travel = Travel(data, prefix="travel")
        self.short_notice = Notices(data, prefix="short_notice")
        self.client_volume = Volumes(data, prefix="client_volume")

    def is_valid(self) -> bool:
        """Whether every form is; each is asked, so that every error shows at once."""
        faulty = [form for form in self._all_forms() if not form.is_valid()]
        return not faulty

    def row_set(self, prefix: str) -> RowSet | None:
        """The rows of a prefix that came from the page."""
        sets = [self.travel, self.short_notice, self.client_volume, *(part.bands for part in self.packages)]
        return next((rows for rows in sets if rows.prefix == prefix), None)

    def card(self, number: int) -> Card:
        """The card as the rules read it; raises `BadInput`. Taxes are the office's own and not on this page."""
        return card_from_json(self._as_file(number))

    def faults(self) -> Iterator[str]:
        """What is still wrong, in the order of the page."""
        for form in self._all_forms():
            for part in getattr(form, "forms", [form]):
                for name, errors in part.errors.items():
                    label = part.fields[name].label if name in part.fields else ""
                    yield f"{label}: {errors[0]}" if label else str(errors[0])

    def show(self, refusal: BadInput) -> None:
        """Put a refusal of the card's own rules beside the field it is about, or above all where it has none."""
        field = refusal.path.rpartition(".")[2]
        known = field if field in self.header.fields else None
        self.header.add_error(known, refusal.expected if known else f"{refusal.path}: {refusal.expected}")

    def _all_forms(self) -> list[Any]:
        packages = [form for part in self.packages for form in (part.form, part.bands)]
        add_ons = [part.form for part in self.add_ons]
        return [self.header, *packages, *add_ons, self.travel, self.short_notice, self.client_volume]

    def _as_file(self, number: int) -> dict[str, Any]:
        return {
            "number": number,
            **self.header.as_file(),
            "packages": {
                part.package.code: {**part.form.as_file(), "area_bands": part.bands.as_file()}
                for part in self.packages
                if part.is_on_card
            },
            "add_ons": {
                part.add_on.code: part.form.as_file() for part in self.add_ons if part.form.cleaned_data["pricing"]
            },
            "travel": self.travel.as_file(),
            "short_notice": self.short_notice.as_file(),
            "client_volume": self.client_volume.as_file(),
            "tax": [],
        }


def bands_of(package: Package) -> str:
    return f"bands-{package.pk}"


def typed_card(file: Mapping[str, Any], name: str, client: Client | None) -> QueryDict:
    """A CARD file's object as somebody would have typed it."""
    data = QueryDict(mutable=True)
    data.update({"name": name, "client": client.pk if client else "", "starts_on": file["from"]})
    for key in ("currency", "area_unit", "minimum", "weekend_percent", "round_net_to", "tax_rounding"):
        data[key] = file[key]
    for package in Package.objects.all():
        _type_package(data, package, file["packages"].get(package.code))
    for add_on in AddOn.objects.all():
        _type_add_on(data, f"add-on-{add_on.pk}", file["add_ons"].get(add_on.code, {}))
    for key in ("travel", "short_notice", "client_volume"):
        _type_rows(data, key, file[key])
    return data


def _type_package(data: QueryDict, package: Package, priced: Mapping[str, Any] | None) -> None:
    prefix = f"package-{package.pk}"
    if priced:
        data[f"{prefix}-on_card"] = "on"
        for name in PackageForm.PRICES:
            data[f"{prefix}-{name}"] = priced[name]
    _type_rows(data, bands_of(package), priced["area_bands"] if priced else [])


def _type_add_on(data: QueryDict, prefix: str, priced: Mapping[str, str]) -> None:
    pricing = next((key for key in priced if key != "at_least"), "")
    data[f"{prefix}-pricing"], data[f"{prefix}-amount"] = pricing, priced.get(pricing, "")
    data[f"{prefix}-at_least"] = priced.get("at_least", "")


def _type_rows(data: QueryDict, prefix: str, rows: list[Mapping[str, Any]]) -> None:
    data[f"{prefix}-TOTAL_FORMS"], data[f"{prefix}-INITIAL_FORMS"] = len(rows), 0
    for number, row in enumerate(rows):
        for name, value in row.items():
            data[f"{prefix}-{number}-{name}"] = "" if value is None else value


def with_row_added(data: QueryDict, prefix: str) -> QueryDict:
    """What was typed, with one more blank row at the end."""
    changed = data.copy()
    changed[f"{prefix}-TOTAL_FORMS"] = _count(data, prefix) + 1
    return changed


def with_row_removed(data: QueryDict, prefix: str, number: int) -> QueryDict:
    """What was typed, without one row; those below move up."""
    count = _count(data, prefix)
    if not 0 <= number < count:
        return data
    changed = data.copy()
    moving = [(key, *_place(key, prefix)) for key in data if _place(key, prefix)[0] >= number]
    for key, _at, _name in moving:
        del changed[key]
    for key, at, name in moving:
        if at > number:
            changed[f"{prefix}-{at - 1}-{name}"] = data[key]
    changed[f"{prefix}-TOTAL_FORMS"] = count - 1
    return changed


def _place(key: str, prefix: str) -> tuple[int, str]:
    """Row and field of a key; row -1 for what is no row of these."""
    at, _dash, name = key.removeprefix(f"{prefix}-").partition("-") if key.startswith(f"{prefix}-") else ("", "", "")
    return (int(at), name) if at.isdigit() else (-1, "")


def _count(data: QueryDict, prefix: str) -> int:
    count = data.get(f"{prefix}-TOTAL_FORMS", "")
    return min(int(count), 60) if str(count).isdigit() else 0
