"""Making a bundle and putting more into it."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from deliverables.models import Bundle, ItemKind
from office.forms.base import PlainForm, RowForm

KINDS_BY_HAND = [
    ItemKind.PLAN, ItemKind.AREA_SHEET, ItemKind.TOUR_BRANDED, ItemKind.TOUR_UNBRANDED, ItemKind.OTHER,
]  # fmt: skip


class BundleForm(RowForm):
    class Meta:
        model = Bundle
        fields = ["release_rule", "message"]
        widgets = {"message": forms.Textarea(attrs={"rows": 3})}


class ItemForm(PlainForm):
    """A file or a link, never both."""

    kind = forms.ChoiceField(label=_("What it is"), choices=[(kind.value, kind.label) for kind in KINDS_BY_HAND])
    title = forms.CharField(label=_("Title"), max_length=160, required=False)
    upload = forms.FileField(label=_("File"), required=False, max_length=400)
    url = forms.URLField(label=_("or link"), required=False, max_length=500, assume_scheme="https")

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if "upload" not in self.errors and bool(data.get("upload")) == bool(data.get("url")):
            self.add_error("upload", _("Give a file or a link, one of the two."))
        data["title"] = data.get("title") or ItemKind(data.get("kind") or ItemKind.OTHER).label
        return data


class HandOverForm(PlainForm):
    override = forms.CharField(
        label=_("Why it leaves although something is missing"), required=False, max_length=300,
        help_text=_("Stands in the history of the job."),
    )  # fmt: skip
