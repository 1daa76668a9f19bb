"""Ordering a plan, sending drafts in, accepting."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from deliverables.models import Drafter, FixRequest, MeasuringRule
from office.forms.base import PlainForm
from office.models import AreaUnitChoice, Office
from office.rules.units import STORED_AREA, AreaUnit, converted_area


class PlanOrderForm(PlainForm):
    drafter = forms.ModelChoiceField(Drafter.objects.none(), label=_("Drafter"), empty_label=None)
    measuring_rule = forms.ChoiceField(label=_("Measuring rule"), choices=MeasuringRule.choices)
    branded = forms.BooleanField(label=_("With the client's contact details"), required=False)
    notes = forms.CharField(
        label=_("Notes for the drafter"), required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 4})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["drafter"].queryset = Drafter.objects.taking_orders()


UPLOAD_HELP = _("A PDF, PNG, JPEG or TIFF of at most 100 MB.")


class DraftForm(PlainForm):
    """The office's own hand: a draft that came by other ways, or one we drew."""

    upload = forms.FileField(label=_("Draft"), help_text=UPLOAD_HELP, max_length=400)
    drawn_by_us = forms.BooleanField(label=_("We drew this one ourselves"), required=False)
    note = forms.CharField(label=_("Note"), required=False, max_length=1000)


class ReturnsField(forms.ModelMultipleChoiceField):
    """Fixes to tick. One that has been withdrawn since the page was loaded is passed over: the upload must not fail."""

    widget = forms.CheckboxSelectMultiple

    def clean(self, value: list[str] | None) -> list[FixRequest]:
        ticked = {pk for pk in value or [] if str(pk).isdigit()}
        return [fix for fix in self.queryset if str(fix.pk) in ticked]

    def label_from_instance(self, fix: FixRequest) -> str:
        return f"{fix.number}. {fix.text}"


class DrafterDraftForm(PlainForm):
    """A drafter's upload, with the fixes it puts right."""

    upload = forms.FileField(label=_("Your draft"), help_text=UPLOAD_HELP, max_length=400)
    returns = ReturnsField(FixRequest.objects.none(), label=_("This draft puts right"), required=False)
    note = forms.CharField(label=_("Note"), required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, fixes: list[FixRequest], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not fixes:
            del self.fields["returns"]
            return
        field = self.fields["returns"]
        field.queryset = FixRequest.objects.filter(pk__in=[fix.pk for fix in fixes])
        field.initial = fixes


class AcceptForm(PlainForm):
    measured_area = forms.DecimalField(
        label=_("Measured area"), required=False, min_value=Decimal("0.01"), max_digits=9, decimal_places=2,
        help_text=_("As the plan states it. It becomes the property's area and may call for a true-up."),
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = AreaUnit(Office.the().area_unit)
        self.fields["measured_area"].label = _("Measured area, %(unit)s") % {"unit": AreaUnitChoice(self.unit).label}

    def measured_area_m2(self) -> Decimal | None:
        """What was typed in the office's unit, as it is stored."""
        area = self.cleaned_data["measured_area"]
        return None if area is None else converted_area(area, self.unit, AreaUnit.M2).quantize(STORED_AREA)
