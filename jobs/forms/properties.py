"""The property, in the order the answers come on the phone."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from jobs.models import Caution, Property
from office.forms.base import RowForm
from office.models import AreaUnitChoice, Office
from office.models.fields import AreaField
from office.rules.units import AreaUnit, converted_area

LARGEST_M2 = Decimal(100_000)


class PropertyForm(RowForm):
    area = forms.DecimalField(label=_("Floor area"), min_value=1, max_digits=9, decimal_places=2)
    area_unit = forms.ChoiceField(label=_("Unit"), choices=AreaUnitChoice)
    cautions = forms.MultipleChoiceField(
        label=_("Cautions"), choices=Caution, required=False, widget=forms.CheckboxSelectMultiple
    )

    class Meta:
        model = Property
        fields = [
            "street", "unit", "town", "region", "postcode", "country", "level_count",
            "closet_count", "bath_count", "has_garage", "zone", "latitude", "longitude", "access_notes", "cautions",
        ]  # fmt: skip
        widgets = {"access_notes": forms.Textarea(attrs={"rows": 2})}

    field_order = [
        "street", "unit", "town", "region", "postcode", "country", "area", "area_unit", "level_count", "closet_count",
        "bath_count", "has_garage",
    ]  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        office = Office.the()
        self.fields["level_count"].min_value = 1
        self.fields["area_unit"].initial = office.area_unit
        if self.instance.pk is None:
            self.fields["zone"].initial = office.zone
            self.fields["country"].initial = office.country
        else:
            unit = AreaUnit(office.area_unit)
            self.fields["area"].initial = round(converted_area(self.instance.area_m2, AreaUnit.M2, unit), 2)

    def clean_level_count(self) -> int:
        count = self.cleaned_data["level_count"]
        if not 1 <= count <= 60:
            raise forms.ValidationError(_("Expected 1 to 60 levels."))
        return count

    def clean(self) -> dict[str, Any]:
        """The area is stored in square metres, whatever it was typed in."""
        typed = super().clean() or self.cleaned_data
        area, unit = typed.pop("area", None), typed.pop("area_unit", None)
        if area and unit:
            square_metres = converted_area(area, AreaUnit(unit), AreaUnit.M2)
            if square_metres > LARGEST_M2:
                self.add_error("area", _("Expected less than %(most)s m².") % {"most": LARGEST_M2})
            typed["area_m2"] = round(square_metres, AreaField().decimal_places)
        return typed
