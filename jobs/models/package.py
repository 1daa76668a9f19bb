"""What a client can order: packages, add-ons, and the editing tasks that come with a package."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Covers(models.TextChoices):
    TOUR = "tour", _("Tour only")
    PLAN = "plan", _("Floor plan only")
    BOTH = "both", _("Tour and floor plan")


def usual_kit() -> str:
    """What must be in the bag, one thing a line: a start that each office changes. Common practice, no source."""
    return "\n".join(
        str(line)
        for line in (
            _("Camera"),
            _("Tripod"),
            _("Phone or tablet, charged"),
            _("Spare batteries and charger"),
            _("Door stops, more than you think"),
            _("Shoe covers"),
            _("Tape or clips for curtains"),
            _("Torch"),
            _("Tape measure"),
        )
    )


class PackageQuerySet(models.QuerySet["Package"]):
    def with_task_counts(self) -> "PackageQuerySet":
        """Each with `task_number`, how many editing tasks come with it."""
        return self.annotate(task_number=models.Count("tasks"))


class Package(models.Model):
    """What the client orders. The code is what rate cards price."""

    code = models.SlugField(_("code"), max_length=30, unique=True)
    name = models.CharField(_("name"), max_length=80)
    covers = models.CharField(_("covers"), max_length=4, choices=Covers)
    description = models.CharField(_("description"), max_length=300, blank=True)
    offered = models.BooleanField(_("offered"), default=True)
    promise_hours = models.PositiveSmallIntegerField(
        _("promised within, working hours"), default=24, help_text=_("Counted from the capture, in the office's hours.")
    )
    order = models.PositiveSmallIntegerField(default=0)
    kit = models.TextField(_("kit list"), default=usual_kit, blank=True, help_text=_("One thing a line."))
    preparation = models.TextField(
        _("also to prepare"), blank=True, help_text=_("One thing a line; added to the client's preparation sheet.")
    )

    objects = PackageQuerySet.as_manager()

    class Meta:
        ordering = ["order", "code"]

    def __str__(self) -> str:
        return self.name

    @property
    def kit_items(self) -> list[str]:
        """The kit list's lines, each once, in order."""
        return list(dict.fromkeys(line.strip() for line in self.kit.splitlines() if line.strip()))

    @property
    def has_tour(self) -> bool:
        return self.covers in {Covers.TOUR, Covers.BOTH}

    @property
    def has_plan(self) -> bool:
        return self.covers in {Covers.PLAN, Covers.BOTH}


class AddOn(models.Model):
    """A priced extra."""

    code = models.SlugField(_("code"), max_length=30, unique=True)
    name = models.CharField(_("name"), max_length=80)
    needs_daylight = models.BooleanField(_("needs daylight"), default=False)
    offered = models.BooleanField(_("offered"), default=True)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class Severity(models.TextChoices):
    MUST = "must", _("Must")
    SHOULD = "should", _("Should")


class PackageTask(models.Model):
    """An editing task that every shoot of the package gets once it is captured."""

    package = models.ForeignKey(Package, models.CASCADE, related_name="tasks")
    code = models.SlugField(max_length=40)
    text = models.CharField(_("task"), max_length=200)
    severity = models.CharField(_("weight"), max_length=6, choices=Severity, default=Severity.SHOULD)
    due_hours = models.PositiveSmallIntegerField(
        _("due within, working hours"), null=True, blank=True, help_text=_("From the capture; empty: by the promise.")
    )
    order = models.PositiveSmallIntegerField(_("place in the list"), default=0)

    class Meta:
        ordering = ["package", "order", "pk"]
        constraints = [models.UniqueConstraint(fields=["package", "code"], name="package_task_once")]

    def __str__(self) -> str:
        return self.text
