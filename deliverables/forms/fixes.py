"""Asking for a fix: pinned by a click on the drawing, or by plain numbers."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from deliverables.models import FixKind
from office.forms.base import PlainForm

PIN_STEP = Decimal("0.00001")


def _share(label: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, required=False, min_value=0, max_value=100, decimal_places=3,
        widget=forms.NumberInput(attrs={"step": "0.001", "inputmode": "decimal"}),
    )  # fmt: skip


class FixForm(PlainForm):
    """The pin is asked in percent of the page, from the left and from the top."""

    text = forms.CharField(
        label=_("What to put right"), max_length=400, widget=forms.Textarea(attrs={"rows": 2, "maxlength": 400})
    )
    kind = forms.ChoiceField(label=_("Kind"), choices=FixKind.choices, initial=FixKind.OTHER)
    page = forms.IntegerField(label=_("Page"), min_value=1, max_value=500, initial=1)
    across = _share(_("Across, % from the left"))
    down = _share(_("Down, % from the top"))

    def pinned(self) -> dict[str, Any]:
        """The fields as `ask_fix` takes them: shares of the page."""
        data = self.cleaned_data
        return {
            "text": data["text"],
            "kind": data["kind"],
            "page": data["page"],
            "x": _as_share(data["across"]),
            "y": _as_share(data["down"]),
        }


def _as_share(percent: Decimal | None) -> Decimal | None:
    return None if percent is None else (percent / 100).quantize(PIN_STEP)
