"""Taking an order and giving it a time."""

from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from jobs.actions.shoots import Timing
from jobs.models import AddOn, Client, Package, Property, Shoot, ShootState
from jobs.rules.late_fee import Wish
from office.forms.base import PlainForm, RowForm, local_moment
from office.models import Person

from .diary import WISHES


class ShootForm(PlainForm):
    """A new order, from the desk."""

    client = forms.ModelChoiceField(label=_("Client"), queryset=Client.objects.all())
    property = forms.ModelChoiceField(label=_("Property"), queryset=Property.objects.order_by("street", "pk"))
    package = forms.ModelChoiceField(label=_("Package"), queryset=Package.objects.filter(offered=True))
    add_ons = forms.ModelMultipleChoiceField(
        label=_("Add-ons"), queryset=AddOn.objects.filter(offered=True), required=False,
        widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    wished_days = forms.CharField(label=_("Wished days"), max_length=200, required=False)
    notes = forms.CharField(label=_("Notes"), required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def order(self) -> dict[str, Any]:
        """What `pencil_shoot` takes."""
        return {**self.cleaned_data, "add_ons": dict.fromkeys(self.cleaned_data["add_ons"], 1)}


class TimeForm(PlainForm):
    """When the crew arrives, how long it stays, who it is, and at whose wish a promised visit is moved."""

    starts_at = local_moment(label=_("Arrival from"))
    window_minutes = forms.IntegerField(label=_("Arrival window, minutes"), min_value=0, max_value=480)
    minutes = forms.IntegerField(label=_("On site, minutes"), min_value=10, max_value=960)
    crew = forms.ModelMultipleChoiceField(
        label=_("Crew"), queryset=Person.objects.at_work(), widget=forms.CheckboxSelectMultiple,
        help_text=_("One or two people."),
    )  # fmt: skip
    wish = forms.TypedChoiceField(
        label=_("Moved at whose wish"), choices=WISHES, coerce=Wish, initial=Wish.OFFICE.value, required=False,
        empty_value=Wish.OFFICE,
    )  # fmt: skip

    def __init__(self, *args: Any, shoot: Shoot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shoot = shoot
        if shoot.state != ShootState.CONFIRMED:
            self.fields["wish"].widget = forms.HiddenInput()

    def timing(self) -> Timing:
        """The visit ends as late as an arrival at the end of the window makes it."""
        starts_at: datetime = self.cleaned_data["starts_at"]
        window_end = starts_at + timedelta(minutes=self.cleaned_data["window_minutes"])
        return Timing(
            shoot=self.shoot,
            starts_at=starts_at,
            window_end=window_end,
            ends_at=window_end + timedelta(minutes=self.cleaned_data["minutes"]),
            crew=list(self.cleaned_data["crew"]),
            wish=self.cleaned_data["wish"],
        )

    @classmethod
    def of_shoot(cls, shoot: Shoot, window_minutes: int, minutes: int) -> dict[str, Any]:
        """What stands, or the office's own window and the minutes that four in five such visits keep to."""
        if shoot.starts_at is None:
            return {"window_minutes": window_minutes, "minutes": minutes}
        return {
            "starts_at": shoot.starts_at,
            "window_minutes": int((shoot.window_end - shoot.starts_at).total_seconds() // 60),
            "minutes": shoot.planned_minutes(),
            "crew": [person.pk for person in shoot.crew.all()],
        }


class LinksForm(RowForm):
    class Meta:
        model = Shoot
        fields = ["capture_url", "tour_branded_url", "tour_unbranded_url"]
