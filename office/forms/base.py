"""What every form shares: crispy's layout without its own form tag, so that the page keeps its key and buttons."""

from collections.abc import Mapping, Sequence
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Fieldset, Layout
from django import forms


class OfficeFormMixin:
    """`helper` renders the fields alone; the template writes the form tag, the key and the button."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True


class PlainForm(OfficeFormMixin, forms.Form):
    """A form of its own."""


class RowForm(OfficeFormMixin, forms.ModelForm):
    """A form over one row. Views never call `save`: they hand `cleaned_data` to an action."""


def parts(named: Mapping[str, Sequence[str]]) -> Layout:
    """A long form in named parts, each part's short fields side by side where there is room."""
    return Layout(*(Fieldset(title, Div(*fields, css_class="fields-across")) for title, fields in named.items()))


def local_moment(**kwargs: Any) -> forms.DateTimeField:
    """A date and time in the office's zone, as the browser's own picker sends it."""
    return forms.DateTimeField(
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"],
        **kwargs,
    )


def local_day(**kwargs: Any) -> forms.DateField:
    """A date as the browser's own picker sends it."""
    return forms.DateField(widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), **kwargs)
