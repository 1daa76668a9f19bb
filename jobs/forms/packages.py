"""What clients can order, what is to be done for it, and the office's figures for walks."""

from jobs.models import Package, PackageTask, WalkSettings
from office.forms.base import RowForm


class NewPackageForm(RowForm):
    class Meta:
        model = Package
        fields = ["code", "name", "covers", "description", "promise_hours", "offered"]


class PackageForm(RowForm):
    """Neither the code nor what it covers changes once jobs stand on it."""

    class Meta:
        model = Package
        fields = ["name", "description", "promise_hours", "offered"]


class PackageTaskForm(RowForm):
    class Meta:
        model = PackageTask
        fields = ["text", "severity", "due_hours", "order"]

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk is None:
            del self.fields["order"]


class WalkSettingsForm(RowForm):
    class Meta:
        model = WalkSettings
        fields = [
            "spacing_m", "minutes_a_station", "pair_apart_m", "tie_in_should_m", "tie_in_must_m", "jump_m",
            "tour_link_m", "code_minutes_before", "code_minutes_after", "code_days",
        ]  # fmt: skip
