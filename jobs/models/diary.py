"""What the diary goes by: the office's rules, each person's hours and leave, and drives that somebody has timed."""

from datetime import date
from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from office.models import Person

from .property import Property

PERCENT = [MinValueValidator(0), MaxValueValidator(100)]
A_DAY_OF_MINUTES = 1440


class DiaryRules(models.Model):
    """The office's own figures for its diary: one row. Every figure is a starting point that the office replaces.

    `reckoned_…` is where the office was when the drives of the coming visits were last reckoned.
    """

    window_minutes = models.PositiveSmallIntegerField(
        _("arrival window, minutes"), default=30, validators=[MaxValueValidator(480)]
    )
    step_minutes = models.PositiveSmallIntegerField(
        _("windows begin every so many minutes"), default=30, validators=[MinValueValidator(5), MaxValueValidator(240)]
    )
    notice_hours = models.PositiveSmallIntegerField(
        _("least notice, hours"), default=4, validators=[MaxValueValidator(720)]
    )
    public_holidays = models.BooleanField(_("closed on public holidays of the office's country"), default=True)
    subdivision = models.CharField(
        _("part of the country"), max_length=6, blank=True, help_text=_("As in ISO 3166-2, such as IA; may be empty.")
    )

    road_factor = models.DecimalField(
        _("road against straight line"), max_digits=4, decimal_places=2, default=Decimal("1.30"),
        validators=[MinValueValidator(1), MaxValueValidator(5)],
    )  # fmt: skip
    fixed_minutes = models.PositiveSmallIntegerField(
        _("minutes added to each drive"), default=5, validators=[MaxValueValidator(120)]
    )
    near_km = models.PositiveSmallIntegerField(_("near: up to km"), default=8, validators=[MinValueValidator(1)])
    near_speed = models.PositiveSmallIntegerField(
        _("near: km an hour"), default=35, validators=[MinValueValidator(1), MaxValueValidator(200)]
    )
    middle_km = models.PositiveSmallIntegerField(_("farther: up to km"), default=40, validators=[MinValueValidator(2)])
    middle_speed = models.PositiveSmallIntegerField(
        _("farther: km an hour"), default=65, validators=[MinValueValidator(1), MaxValueValidator(200)]
    )
    far_speed = models.PositiveSmallIntegerField(
        _("beyond: km an hour"), default=90, validators=[MinValueValidator(1), MaxValueValidator(200)]
    )
    unknown_drive_minutes = models.PositiveSmallIntegerField(
        _("minutes for a drive to a place without coordinates"), default=30, validators=[MaxValueValidator(600)]
    )

    reckoned_latitude = models.DecimalField(max_digits=9, decimal_places=6, null=True, editable=False)
    reckoned_longitude = models.DecimalField(max_digits=9, decimal_places=6, null=True, editable=False)

    free_hours = models.PositiveSmallIntegerField(_("free to move or cancel until, hours before"), default=48)
    late_move_percent = models.DecimalField(
        _("moved later, percent of the price"), max_digits=5, decimal_places=2, default=Decimal(25), validators=PERCENT
    )
    late_cancel_percent = models.DecimalField(
        _("cancelled later, percent of the price"), max_digits=5, decimal_places=2, default=Decimal(50),
        validators=PERCENT,
    )  # fmt: skip
    no_access_percent = models.DecimalField(
        _("no access, percent of the price"), max_digits=5, decimal_places=2, default=Decimal(50), validators=PERCENT
    )

    check_out_limit = models.PositiveSmallIntegerField(
        _("minutes after the expected end until somebody is missed"), default=30, validators=[MaxValueValidator(720)]
    )
    watch_name = models.CharField(_("who else is told"), max_length=120, blank=True)
    watch_email = models.EmailField(_("and their email"), blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="one_set_of_diary_rules"),
            models.CheckConstraint(condition=Q(middle_km__gt=F("near_km")), name="speed_bands_in_order"),
        ]

    def __str__(self) -> str:
        return "rules of the diary"

    @classmethod
    def the(cls) -> "DiaryRules":
        """The one set of rules of this installation; nothing is stored before somebody changes it."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)


class CrewHours(models.Model):
    """A person's own working week, in place of the office's: {"mon": [["09:00", "17:00"]], …}; empty is never."""

    person = models.OneToOneField(Person, models.CASCADE, related_name="crew_hours")
    hours = models.JSONField(_("working hours"), default=dict, blank=True)

    def __str__(self) -> str:
        return f"hours of {self.person}"


class LeaveQuerySet(models.QuerySet["Leave"]):
    def touching(self, first_day: date, last_day: date) -> "LeaveQuerySet":
        """Leave that falls on any of these dates, both included."""
        return self.filter(first_day__lte=last_day, last_day__gte=first_day).order_by("first_day", "pk")


class Leave(models.Model):
    """Whole dates on which a person does not work."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="leave")
    first_day = models.DateField(_("first day"))
    last_day = models.DateField(_("last day"))
    why = models.CharField(_("why"), max_length=120, blank=True)

    objects = LeaveQuerySet.as_manager()

    class Meta:
        ordering = ["first_day", "pk"]
        constraints = [models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="leave_in_order")]
        indexes = [models.Index(fields=["last_day", "first_day"], name="leave_by_day")]

    def __str__(self) -> str:
        return f"{self.person}, {self.first_day} – {self.last_day}"


class TimedDrive(models.Model):
    """Minutes that somebody has timed between two properties, or the office (empty) and one; both ways."""

    start = models.ForeignKey(Property, models.CASCADE, null=True, blank=True, related_name="+", verbose_name=_("from"))
    end = models.ForeignKey(Property, models.CASCADE, related_name="+", verbose_name=_("to"))
    minutes = models.PositiveSmallIntegerField(_("minutes"), validators=[MaxValueValidator(A_DAY_OF_MINUTES)])

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["start", "end"], name="drive_once"),
            models.UniqueConstraint(fields=["end"], condition=Q(start=None), name="drive_from_office_once"),
            models.CheckConstraint(condition=Q(start=None) | ~Q(start=F("end")), name="drive_between_two_places"),
        ]

    def __str__(self) -> str:
        return f"{self.start or _('the office')} – {self.end}"
