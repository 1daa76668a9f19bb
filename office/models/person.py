"""The people of the office who sign in: owner and scanner."""

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.utils.translation import gettext_lazy as _


class Role(models.TextChoices):
    OWNER = "owner", _("Owner")
    SCANNER = "scanner", _("Scanner")


class PersonManager(BaseUserManager["Person"]):
    def create_user(self, email: str, password: str | None = None, **fields: object) -> "Person":
        person = self.model(email=self.normalize_email(email).lower(), **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def create_superuser(self, email: str, password: str | None = None, **fields: object) -> "Person":
        return self.create_user(email, password, role=Role.OWNER, **fields)

    def at_work(self) -> models.QuerySet["Person"]:
        """Everyone who can be put on a crew, by name."""
        return self.filter(is_active=True).order_by("name", "pk")


class Person(AbstractBaseUser, PermissionsMixin):
    """One person of the office. The email is the sign-in name."""

    email = models.EmailField(_("email"), unique=True)
    name = models.CharField(_("name"), max_length=120)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    role = models.CharField(_("role"), max_length=10, choices=Role, default=Role.SCANNER)
    is_active = models.BooleanField(_("works here"), default=True)
    date_joined = models.DateTimeField(_("since"), auto_now_add=True)

    objects = PersonManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name or self.email

    @property
    def is_owner(self) -> bool:
        return self.role == Role.OWNER

    def get_full_name(self) -> str:
        return self.name

    def get_short_name(self) -> str:
        return self.name.split(" ")[0]
