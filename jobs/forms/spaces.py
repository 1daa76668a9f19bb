"""Levels, spaces and openings one by one, with few taps on a phone."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from jobs.models import Grade, Level, OpeningKind, Property, Space, SpaceKind
from jobs.rules.first_shape import FirstFacts
from office.forms.base import PlainForm, RowForm
from office.models import Office
from office.models.fields import AreaField
from office.rules.units import AreaUnit, converted_area

LARGEST_FILE = 1024 * 1024
LARGEST_SPACE_M2 = Decimal(100_000)


class StartForm(PlainForm):
    """What a client says on the phone; the first shape is made of it."""

    levels = forms.IntegerField(label=_("Levels at and above ground"), min_value=1, max_value=12, initial=1)
    bedrooms = forms.IntegerField(label=_("Bedrooms"), min_value=0, max_value=30, initial=3)
    bathrooms = forms.IntegerField(label=_("Bathrooms"), min_value=0, max_value=30, initial=2)
    walk_in_closets = forms.IntegerField(label=_("Walk-in closets"), min_value=0, max_value=10, initial=0)
    basement = forms.BooleanField(label=_("Has a basement"), required=False)
    garage = forms.BooleanField(label=_("Has a garage"), required=False)

    def facts(self) -> FirstFacts:
        return FirstFacts(**self.cleaned_data)


class LevelForm(RowForm):
    class Meta:
        model = Level
        fields = ["name", "grade", "elevation_m"]
        help_texts = {
            "elevation_m": _("Its floor above the ground floor; below it with a minus. The lowest is level 1.")
        }

    def clean_name(self) -> str:
        return " ".join(self.cleaned_data["name"].split())


class NewLevelForm(LevelForm):
    """A level with nothing filled in but the likely grade."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["grade"].initial = Grade.ABOVE


class NewSpaceForm(PlainForm):
    """One tap on a kind adds the space; where it opens to and a name of its own are quick to give."""

    kind = forms.ChoiceField(choices=SpaceKind)
    beside = forms.ModelChoiceField(label=_("Off"), queryset=Space.objects.none(), required=False)
    name = forms.CharField(label=_("Name"), max_length=80, required=False)

    def __init__(self, *args: Any, house: Property, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["beside"].queryset = house.spaces.all()


class SpaceForm(RowForm):
    """One space. The area is typed in the office's unit; it tells the walk plan how many stations it takes."""

    area = forms.DecimalField(
        label=_("Floor area"), min_value=0, max_digits=8, decimal_places=2, required=False,
        help_text=_("Where it is known: the walk plan counts stations by it."),
    )  # fmt: skip

    class Meta:
        model = Space
        fields = ["name", "kind", "level", "private"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = AreaUnit(Office.the().area_unit)
        self.fields["level"].queryset = self.instance.property.levels.all()
        self.fields["area"].label = _("Floor area, sq ft") if self.unit == AreaUnit.SQFT else _("Floor area, m²")
        if self.instance.area_m2:
            self.fields["area"].initial = round(converted_area(self.instance.area_m2, AreaUnit.M2, self.unit), 2)

    def clean(self) -> dict[str, Any]:
        """The area is stored in square metres, whatever it was typed in."""
        typed = super().clean() or self.cleaned_data
        area = typed.pop("area", None)
        square_metres = converted_area(area, self.unit, AreaUnit.M2) if area else None
        if square_metres and square_metres > LARGEST_SPACE_M2:
            self.add_error("area", _("Expected less than %(most)s m².") % {"most": LARGEST_SPACE_M2})
        typed["area_m2"] = round(square_metres, AreaField().decimal_places) if square_metres else None
        return typed


class OpeningForm(PlainForm):
    """A door, curtain or screen between two spaces, or within one."""

    one = forms.ModelChoiceField(label=_("From"), queryset=Space.objects.none())
    other = forms.ModelChoiceField(label=_("To"), queryset=Space.objects.none())
    kind = forms.ChoiceField(label=_("Kind"), choices=OpeningKind, initial=OpeningKind.DOOR)

    def __init__(self, *args: Any, house: Property, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        spaces = house.spaces.select_related("level")
        for name in ("one", "other"):
            self.fields[name].queryset = spaces
            self.fields[name].label_from_instance = lambda space: f"{space.level.name}: {space.name}"


class PropertyFileForm(PlainForm):
    shape = forms.FileField(label=_("Property file (JSON)"))

    def clean_shape(self) -> Any:
        upload = self.cleaned_data["shape"]
        if upload.size > LARGEST_FILE:
            raise forms.ValidationError(_("Expected a file under 1 MB."))
        return upload

    def file(self) -> dict[str, Any]:
        """What `import_shape` takes."""
        upload = self.cleaned_data["shape"]
        return {"content": upload.read(), "file_name": upload.name}
