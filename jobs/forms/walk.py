"""One station, or a whole walk from a file."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from jobs.models import Opening, Pass, Shoot, Space
from office.forms.base import PlainForm

LARGEST_WALK = 2 * 1024 * 1024


class StationForm(PlainForm):
    """The next station. The spaces and openings are those of the shoot's own property."""

    number = forms.IntegerField(label=_("Station"), min_value=1, max_value=9999)
    space = forms.ModelChoiceField(label=_("Space"), queryset=Space.objects.none())
    captured_for = forms.ChoiceField(label=_("Pass"), choices=Pass, initial=Pass.BOTH)
    opening = forms.ModelChoiceField(label=_("Opening"), queryset=Opening.objects.none(), required=False)
    pair_of = forms.IntegerField(label=_("Pair of"), min_value=1, max_value=9999, required=False)
    ties_to = forms.IntegerField(label=_("Ties to"), min_value=1, max_value=9999, required=False)
    note = forms.CharField(label=_("Note"), max_length=200, required=False)

    def __init__(self, *args: Any, shoot: Shoot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        last = shoot.stations.select_related("space").order_by("-number").first()
        self.fields["number"].initial = last.number + 1 if last else 1
        self.fields["space"].initial = last.space if last else shoot.property.entrance_id
        self.fields["space"].queryset = Space.objects.filter(property=shoot.property).select_related("level")
        self.fields["space"].label_from_instance = lambda space: f"{space.level.name}: {space.name}"
        openings = Opening.objects.filter(property=shoot.property).select_related("one", "other")
        self.fields["opening"].queryset = openings


class WalkFileForm(PlainForm):
    walk = forms.FileField(label=_("Walk file (CSV)"))

    def clean_walk(self) -> Any:
        upload = self.cleaned_data["walk"]
        if upload.size > LARGEST_WALK:
            raise forms.ValidationError(_("Expected a file under 2 MB."))
        return upload

    def file(self) -> dict[str, Any]:
        """What `import_walk` takes."""
        upload = self.cleaned_data["walk"]
        return {"content": upload.read(), "file_name": upload.name}
