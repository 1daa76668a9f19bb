"""What the owner and the crew say about visits and about when they work."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from jobs.models import DiaryRules, Package, Property, Shoot, Tried
from jobs.rules.late_fee import Wish
from jobs.rules.public_holidays import UnknownRegion, public_holidays
from office.forms.base import PlainForm, RowForm, local_day, local_moment, parts
from office.forms.hours import HoursField
from office.models import Office, Person

WISHES = [
    (Wish.OFFICE.value, _("the office's")),
    (Wish.CLIENT.value, _("the client's")),
    (Wish.WEATHER.value, _("nobody's: the weather")),
]
FARTHEST = timedelta(days=3 * 365)

RULES = {
    _("Windows"): ["window_minutes", "step_minutes", "notice_hours", "public_holidays", "subdivision"],
    _("Driving"): [
        "road_factor", "fixed_minutes", "near_km", "near_speed", "middle_km", "middle_speed", "far_speed",
        "unknown_drive_minutes",
    ],
    _("Late changes"): ["free_hours", "late_move_percent", "late_cancel_percent", "no_access_percent"],
    _("Alone on site"): ["check_out_limit", "watch_name", "watch_email"],
}  # fmt: skip


class DiaryRulesForm(RowForm):
    class Meta:
        model = DiaryRules
        fields = [name for names in RULES.values() for name in names]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper.layout = parts(RULES)

    def clean(self) -> dict[str, Any]:
        fields = super().clean() or self.cleaned_data
        near, middle = fields.get("near_km"), fields.get("middle_km")
        if near and middle and middle <= near:
            self.add_error("middle_km", _("Expected farther than the near kilometres."))
        self._check_region(fields)
        return fields

    def _check_region(self, fields: Mapping[str, Any]) -> None:
        subdivision = fields.get("subdivision", "").strip().upper()
        country = Office.the().country.upper()
        self.cleaned_data["subdivision"] = subdivision
        if fields.get("public_holidays"):
            try:
                public_holidays(country, subdivision or None, 2026, 2026)
            except UnknownRegion:
                self.add_error(
                    "subdivision", _("No public holidays are known for %s.") % f"{country} {subdivision}".strip()
                )


class HoursForm(PlainForm):
    """A person's own week, or the office's."""

    own = forms.BooleanField(label=_("Has hours of their own"), required=False)
    hours = HoursField(label=_("Working hours"))

    def clean(self) -> dict[str, Any]:
        """Hours that were typed without the tick would be lost silently."""
        fields = self.cleaned_data
        if not fields.get("own") and "hours" in fields and fields["hours"] != self.initial.get("hours"):
            self.add_error("own", _("Tick this for the hours below to hold."))
        return fields

    def chosen(self) -> dict[str, Any] | None:
        """What `set_hours` takes."""
        return self.cleaned_data["hours"] if self.cleaned_data["own"] else None


class LeaveForm(PlainForm):
    person = forms.ModelChoiceField(label=_("Who"), queryset=Person.objects.at_work())
    first_day = local_day(label=_("First day"))
    last_day = local_day(label=_("Last day"), required=False, help_text=_("Empty: one day."))
    why = forms.CharField(label=_("Why"), max_length=120, required=False)

    def clean(self) -> dict[str, Any]:
        fields = self.cleaned_data
        return {**fields, "last_day": fields.get("last_day") or fields.get("first_day")}


class DriveForm(PlainForm):
    start = forms.ModelChoiceField(
        label=_("From"), queryset=Property.objects.order_by("street", "pk"), required=False, empty_label=_("the office")
    )
    end = forms.ModelChoiceField(label=_("To"), queryset=Property.objects.order_by("street", "pk"))
    minutes = forms.IntegerField(label=_("Minutes"), min_value=0, max_value=1440)


class FindForm(PlainForm):
    """Which windows are wanted."""

    since = local_day(label=_("From"), required=False)
    days = forms.TypedChoiceField(
        label=_("Days"), choices=[(7, "7"), (14, "14"), (28, "28")], coerce=int, initial=14, required=False,
        empty_value=14,
    )  # fmt: skip
    people = forms.TypedChoiceField(
        label=_("Crew of"), choices=[(1, _("one")), (2, _("two"))], coerce=int, initial=1, required=False, empty_value=1
    )

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_since(self) -> date | None:
        since = self.cleaned_data["since"]
        if since and not timedelta() <= since - self.today <= FARTHEST:
            raise forms.ValidationError(_("Expected a day from today on, within three years."))
        return since


class CancelForm(PlainForm):
    why = forms.CharField(label=_("Why"), max_length=300)
    wish = forms.TypedChoiceField(
        label=_("At whose wish"), choices=WISHES, coerce=Wish, initial=Wish.CLIENT.value, widget=forms.RadioSelect
    )


class NoAccessForm(PlainForm):
    why = forms.CharField(label=_("What happened"), max_length=300)
    tried = forms.MultipleChoiceField(label=_("Tried"), choices=Tried, widget=forms.CheckboxSelectMultiple)
    waited_minutes = forms.IntegerField(label=_("Waited, minutes"), min_value=0, max_value=480, initial=15)
    photo = forms.FileField(
        label=_("Photo of the door"), required=False,
        widget=forms.ClearableFileInput(attrs={"accept": "image/jpeg,image/png", "capture": "environment"}),
    )  # fmt: skip
    at_fault = forms.BooleanField(label=_("The client was to let us in"), required=False, initial=True)


class WeatherForm(PlainForm):
    note = forms.CharField(label=_("What we wait for"), max_length=200)
    decide_at = local_moment(label=_("Decide by"))

    @classmethod
    def of_shoot(cls, shoot: Shoot) -> dict[str, Any]:
        return {"note": shoot.weather_note, "decide_at": shoot.weather_decide_at}


class StayForm(PlainForm):
    minutes = forms.IntegerField(min_value=1, max_value=480)


class ListsForm(RowForm):
    """A package's kit list and what else its clients prepare."""

    class Meta:
        model = Package
        fields = ["kit", "preparation"]
        widgets = {"kit": forms.Textarea(attrs={"rows": 12}), "preparation": forms.Textarea(attrs={"rows": 5})}

    def clean_kit(self) -> str:
        lines = [line.strip() for line in self.cleaned_data["kit"].splitlines() if line.strip()]
        if any(len(line) > 120 for line in lines):
            raise forms.ValidationError(_("Expected lines of at most 120 characters."))
        return "\n".join(dict.fromkeys(lines))
