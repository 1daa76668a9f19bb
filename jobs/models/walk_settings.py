"""What an office decides for itself about walks. No public standard fixes these figures."""

from datetime import timedelta
from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from jobs.rules.walkcheck import WalkLimits
from jobs.rules.walkplan import Spacing


def _metres(label: str, default: str, most: int = 50) -> models.DecimalField:
    return models.DecimalField(
        label, max_digits=5, decimal_places=2, default=Decimal(default),
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(most)],
    )  # fmt: skip


class WalkSettings(models.Model):
    """One row; `WalkSettings.the()` finds it or makes it with the trade's common figures."""

    spacing_m = models.DecimalField(
        _("metres between stations"), max_digits=4, decimal_places=2, default=Decimal("2.00"),
        validators=[MinValueValidator(Decimal("0.5")), MaxValueValidator(10)],
    )  # fmt: skip
    minutes_a_station = models.DecimalField(
        _("minutes a station"), max_digits=4, decimal_places=2, default=Decimal("1.00"),
        validators=[MinValueValidator(Decimal("0.1")), MaxValueValidator(30)],
    )  # fmt: skip
    pair_apart_m = _metres(_("a pair may lie apart, metres"), "0.15")
    tie_in_should_m = _metres(_("a tie-in should fall within, metres"), "0.30")
    tie_in_must_m = _metres(_("a tie-in must fall within, metres"), "1.00")
    jump_m = _metres(_("farthest from the station before, metres"), "6.00")
    tour_link_m = _metres(_("farthest step of the tour, metres"), "8.00")
    code_minutes_before = models.PositiveSmallIntegerField(
        _("entry codes are shown from, minutes before the arrival window"), default=60,
        validators=[MaxValueValidator(1440)],
    )  # fmt: skip
    code_minutes_after = models.PositiveSmallIntegerField(
        _("entry codes are shown until, minutes after the visit"), default=60, validators=[MaxValueValidator(1440)]
    )
    code_days = models.PositiveSmallIntegerField(
        _("entry codes are deleted after, days from the capture"), default=3, validators=[MaxValueValidator(60)]
    )

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="one_walk_settings")]

    def __str__(self) -> str:
        return "Walk settings"

    @classmethod
    def the(cls) -> "WalkSettings":
        """The one row of this installation."""
        row, _made = cls.objects.get_or_create(pk=1)
        return row

    @property
    def limits(self) -> WalkLimits:
        return WalkLimits(
            pair_apart_m=self.pair_apart_m,
            tie_in_should_m=self.tie_in_should_m,
            tie_in_must_m=self.tie_in_must_m,
            jump_m=self.jump_m,
            tour_link_m=self.tour_link_m,
        )

    @property
    def spacing(self) -> Spacing:
        return Spacing(metres=self.spacing_m.normalize())

    @property
    def shown_before(self) -> timedelta:
        return timedelta(minutes=self.code_minutes_before)

    @property
    def shown_after(self) -> timedelta:
        return timedelta(minutes=self.code_minutes_after)

    @property
    def codes_kept(self) -> timedelta:
        return timedelta(days=self.code_days)
