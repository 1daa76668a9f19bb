"""Writing an entry code. What was typed is never shown again, not even beside an error."""

from django import forms
from django.utils.translation import gettext_lazy as _

from jobs.actions.entry_codes import LONGEST_CODE
from jobs.models import EntryKind
from office.forms.base import PlainForm


class EntryCodeForm(PlainForm):
    kind = forms.ChoiceField(label=_("For"), choices=EntryKind)
    code = forms.CharField(
        label=_("Code"), max_length=LONGEST_CODE,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}, render_value=False),
        help_text=_("It is sealed at once. Only the crew sees it, around the visit."),
    )  # fmt: skip
