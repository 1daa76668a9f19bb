"""The shared cast of the tests: everyone and everything invented."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from jobs.models import AddOn, Client, Covers, Package, PackageTask, Property, Severity
from office.models import Office, Person, Role

NOW = datetime(2027, 3, 1, 15, 0, tzinfo=UTC)
"""A Monday, nine in the morning in the office's zone (America/Chicago)."""

PASSWORD = "correct-horse-stairs"


def make_office() -> Office:
    office = Office.the()
    office.name = "Lantern Street Scans"
    office.street, office.town, office.region, office.postcode = "14 Lantern Street", "Harrowfield", "IA", "50999"
    office.email, office.phone = "desk@lanternstreet.example", "+1 515 555 0100"
    office.save()
    return office


def make_person(name: str, role: Role) -> Person:
    first = name.split(" ")[0].lower()
    return Person.objects.create_user(f"{first}@lanternstreet.example", PASSWORD, name=name, role=role)


def make_client() -> Client:
    return Client.objects.create(
        name="Odile Marchetti", company="Marchetti Homes", email="odile@marchettihomes.example", phone="+1 515 555 0142"
    )


def make_package() -> Package:
    package = Package.objects.create(code="both", name="Tour and floor plan", covers=Covers.BOTH)
    tasks = [
        ("opening-view", "Set the view in which the tour opens", Severity.SHOULD),
        ("blur", "Blur faces, papers, screens and family pictures", Severity.MUST),
    ]
    PackageTask.objects.bulk_create(
        PackageTask(package=package, code=code, text=text, severity=severity, order=order)
        for order, (code, text, severity) in enumerate(tasks)
    )
    return package


def make_add_on() -> AddOn:
    return AddOn.objects.create(code="exterior", name="Exterior pass", needs_daylight=True)


def make_house() -> Property:
    return Property.objects.create(
        street="27 Alder Rise", town="Harrowfield", region="IA", postcode="50999", zone="America/Chicago",
        area_m2=Decimal("227.6124"), level_count=3, latitude=Decimal("41.600000"), longitude=Decimal("-93.610000"),
    )  # fmt: skip


def visit(start: datetime, minutes: int = 90, window: int = 30) -> dict[str, datetime]:
    """The times of a visit as `set_time` takes them."""
    return {
        "starts_at": start,
        "window_end": start + timedelta(minutes=window),
        "ends_at": start + timedelta(minutes=minutes),
    }
