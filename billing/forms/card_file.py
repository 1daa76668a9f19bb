"""A rate card as a file."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from jobs.models import Client
from office.forms.base import PlainForm

LARGEST_CARD = 1024 * 1024


class CardFileForm(PlainForm):
    card = forms.FileField(label=_("Rate card file (JSON)"))
    client = forms.ModelChoiceField(
        label=_("For one client only"), queryset=Client.objects.all(), required=False, empty_label=_("for everyone")
    )

    def clean_card(self) -> Any:
        upload = self.cleaned_data["card"]
        if upload.size > LARGEST_CARD:
            raise forms.ValidationError(_("Expected a file under 1 MB."))
        try:
            self.text = upload.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            raise forms.ValidationError(_("Expected UTF-8 text.")) from None
        return upload

    def file(self) -> dict[str, Any]:
        """What `import_card` takes."""
        return {"text": self.text, "source": self.cleaned_data["card"].name, "client": self.cleaned_data["client"]}
