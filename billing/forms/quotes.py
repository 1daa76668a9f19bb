"""An answer to a quote, the client's own or told to the office."""

from django import forms
from django.utils.translation import gettext_lazy as _

from office.forms.base import PlainForm


class AcceptForm(PlainForm):
    """`name` is who says yes; it stands on the quote."""

    prefix = "yes"
    name = forms.CharField(label=_("Your name"), max_length=160)
    note = forms.CharField(
        label=_("Anything we should know"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )


class DeclineForm(PlainForm):
    prefix = "no"
    name = forms.CharField(label=_("Your name"), max_length=160)
    note = forms.CharField(
        label=_("Why, if you would tell us"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )


class ToldYesForm(PlainForm):
    """The client's yes, heard by the office."""

    prefix = "yes"
    name = forms.CharField(label=_("Who said yes"), max_length=160)
    note = forms.CharField(label=_("How, and what was said"), max_length=300, required=False)


class ToldNoForm(PlainForm):
    prefix = "no"
    name = forms.CharField(label=_("Who said no"), max_length=160)
    note = forms.CharField(label=_("Why"), max_length=300, required=False)
