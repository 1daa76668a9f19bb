"""The building: its address, levels, spaces and the openings between them."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from office.models.fields import AreaField, ZoneField


class AreaSource(models.TextChoices):
    STATED = "stated", _("Stated by the client")
    MEASURED = "measured", _("Measured from a draft")
    ADJUSTED = "adjusted", _("Adjusted by hand")


class Caution(models.TextChoices):
    """What the crew should know before it rings."""

    DOGS = "dogs", _("Dogs: shut away before the door opens")
    POOL = "pool", _("Pool: walk round it, never backwards")
    ALARM = "alarm", _("Alarm: off before, on again after")
    ATTIC = "attic", _("Attic: only with written leave")
    CRAWL_SPACE = "crawl_space", _("Crawl space: only with written leave")
    ROOF = "roof", _("Roof: only with written leave")


class PropertyQuerySet(models.QuerySet["Property"]):
    def at_same_address(self, house: "Property") -> "PropertyQuerySet":
        """Other rows of the same building, the newest first: the same street, unit and town, however typed."""
        return (
            self.filter(street__iexact=house.street, unit__iexact=house.unit, town__iexact=house.town)
            .exclude(pk=house.pk)
            .order_by("-pk")
        )

    def with_counts(self) -> "PropertyQuerySet":
        """With `space_number` and `level_number` of those that have any spaces."""
        counted = self.annotate(
            space_number=models.Count("spaces", distinct=True), level_number=models.Count("levels", distinct=True)
        )
        return counted.filter(space_number__gt=0)

    def with_shape(self) -> "PropertyQuerySet":
        """With levels, spaces and openings at hand."""
        return self.select_related("entrance").prefetch_related(
            "levels", "spaces__level", "openings__one", "openings__other"
        )


class Property(models.Model):
    """One building or unit. Area is kept in square metres, with where it came from."""

    street = models.CharField(_("street"), max_length=160)
    unit = models.CharField(_("unit"), max_length=40, blank=True)
    town = models.CharField(_("town"), max_length=80)
    region = models.CharField(_("state or region"), max_length=80, blank=True)
    postcode = models.CharField(_("postcode"), max_length=20, blank=True)
    country = models.CharField(_("country"), max_length=2, default="US")
    zone = ZoneField(_("time zone"))
    latitude = models.DecimalField(
        _("latitude"), max_digits=9, decimal_places=6, null=True, blank=True,
        validators=[MinValueValidator(-90), MaxValueValidator(90)],
    )  # fmt: skip
    longitude = models.DecimalField(
        _("longitude"), max_digits=9, decimal_places=6, null=True, blank=True,
        validators=[MinValueValidator(-180), MaxValueValidator(180)],
    )  # fmt: skip
    area_m2 = AreaField(_("floor area"))
    area_source = models.CharField(max_length=10, choices=AreaSource, default=AreaSource.STATED)
    level_count = models.PositiveSmallIntegerField(_("levels"), default=1)
    closet_count = models.PositiveSmallIntegerField(
        _("closets"), null=True, blank=True, validators=[MaxValueValidator(500)]
    )
    bath_count = models.PositiveSmallIntegerField(
        _("bathrooms"), null=True, blank=True, validators=[MaxValueValidator(500)]
    )
    has_garage = models.BooleanField(_("garage"), null=True, blank=True)
    access_notes = models.TextField(
        _("getting in"), blank=True, help_text=_("Parking, gate, dogs, who opens. Never write entry codes here.")
    )
    cautions = models.JSONField(_("cautions"), default=list, blank=True)
    entrance = models.ForeignKey("jobs.Space", models.SET_NULL, null=True, blank=True, related_name="+")
    since = models.DateTimeField(auto_now_add=True)

    objects = PropertyQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "properties"
        indexes = [models.Index(fields=["street", "id"], name="property_by_street")]
        constraints = [models.CheckConstraint(condition=Q(area_m2__gt=0), name="property_area_positive")]

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.street}{unit}, {self.town}"

    @property
    def caution_words(self) -> list[str]:
        """What is to be minded, in words, in the order of the list."""
        return [str(word) for code, word in Caution.choices if code in self.cautions]

    def openings_of(self, space: "Space") -> list["Opening"]:
        """Those of one space; no query when read `with_shape`."""
        return [opening for opening in self.openings.all() if space.pk in (opening.one_id, opening.other_id)]

    @property
    def address_lines(self) -> list[str]:
        street = f"{self.street} {self.unit}".strip()
        return [street, " ".join(part for part in (self.town, self.region, self.postcode) if part)]


class Grade(models.TextChoices):
    BELOW = "below", _("Below ground")
    AT = "at", _("At ground")
    ABOVE = "above", _("Above ground")


class Level(models.Model):
    """One storey. `number` counts from the lowest, which is 1; the name is separate."""

    property = models.ForeignKey(Property, models.CASCADE, related_name="levels")
    number = models.PositiveSmallIntegerField(_("number"))
    name = models.CharField(_("name"), max_length=60)
    grade = models.CharField(_("grade"), max_length=5, choices=Grade, default=Grade.AT)
    elevation_m = models.DecimalField(_("elevation, m"), max_digits=6, decimal_places=2, default=0)

    class Meta:
        ordering = ["property", "number"]
        constraints = [models.UniqueConstraint(fields=["property", "number"], name="level_number_once")]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"


class SpaceKind(models.TextChoices):
    ROOM = "room", _("Room")
    HALL = "hall", _("Hall")
    CLOSET = "closet", _("Closet")
    WALK_IN_CLOSET = "walk_in_closet", _("Walk-in closet")
    BATHROOM = "bathroom", _("Bathroom")
    KITCHEN = "kitchen", _("Kitchen")
    GARAGE = "garage", _("Garage")
    STAIR = "stair", _("Stair")
    UTILITY = "utility", _("Utility")
    PORCH = "porch", _("Porch")
    EXTERIOR = "exterior", _("Exterior")


class Space(models.Model):
    """A room, closet, stair, garage … on one level. A stair stands on its lower level."""

    property = models.ForeignKey(Property, models.CASCADE, related_name="spaces")
    level = models.ForeignKey(Level, models.CASCADE, related_name="spaces")
    code = models.CharField(_("code"), max_length=100)
    name = models.CharField(_("name"), max_length=80)
    kind = models.CharField(_("kind"), max_length=14, choices=SpaceKind, default=SpaceKind.ROOM)
    private = models.BooleanField(_("private: not shown in the tour"), default=False)
    area_m2 = AreaField(_("floor area"), null=True, blank=True)

    class Meta:
        ordering = ["property", "level__number", "pk"]
        constraints = [models.UniqueConstraint(fields=["property", "code"], name="space_code_once")]

    def __str__(self) -> str:
        return self.name


class OpeningKind(models.TextChoices):
    DOOR = "door", _("Door")
    CURTAIN = "curtain", _("Curtain")
    SCREEN = "screen", _("Screen")
    GARAGE_DOOR = "garage_door", _("Garage door")
    OPEN = "open", _("Always open")


class Opening(models.Model):
    """A door, curtain or screen between two spaces that can stand open or closed."""

    property = models.ForeignKey(Property, models.CASCADE, related_name="openings")
    code = models.CharField(_("code"), max_length=100)
    one = models.ForeignKey(Space, models.CASCADE, related_name="+")
    other = models.ForeignKey(Space, models.CASCADE, related_name="+")
    kind = models.CharField(_("kind"), max_length=11, choices=OpeningKind, default=OpeningKind.DOOR)

    class Meta:
        ordering = ["property", "pk"]
        constraints = [models.UniqueConstraint(fields=["property", "code"], name="opening_code_once")]

    def __str__(self) -> str:
        return f"{self.code}: {self.one} – {self.other}"

    def across(self, space: Space) -> int:
        """The key of the space on the other side."""
        return self.other_id if space.pk == self.one_id else self.one_id
