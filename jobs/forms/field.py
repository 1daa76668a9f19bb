"""What the field page sends beside the log: a picture with a few words."""

from django import forms

from office.forms.base import PlainForm


class PhotoForm(PlainForm):
    uuid = forms.UUIDField()
    station = forms.UUIDField(required=False)
    note = forms.CharField(max_length=200, required=False)
    picture = forms.FileField()
