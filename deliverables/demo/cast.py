"""The invented office: its people, packages, prices, drafter, client and house."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path

from billing.actions.card_files import import_card
from billing.models import RateCard
from deliverables.actions.drafters import add_drafter
from deliverables.models import Drafter
from jobs.actions.clients import add_client
from jobs.actions.properties import add_property, set_shape
from jobs.models import AddOn, Client, Covers, Package, PackageTask, Property, Severity
from jobs.rules.property_shape import parse_property
from office.actions.actors import PROGRAM, Actor
from office.actions.offices import change_office
from office.models import Office, Person, Role

HERE = Path(__file__).parent
PASSWORD = "alder-rise-demo"  # noqa: S105 - printed on the screen, for an invented office only
ZONE = "America/Chicago"

PACKAGES = (
    ("tour", "Tour", Covers.TOUR, "A tour to walk online"),
    ("plan", "Floor plan", Covers.PLAN, "A measured floor plan of every level"),
    ("both", "Tour and floor plan", Covers.BOTH, "Both, in one visit"),
)
TASKS = (
    ("blur", "Blur faces, papers, screens and family pictures", Severity.MUST, (Covers.TOUR, Covers.BOTH)),
    ("opening-view", "Set the view in which the tour opens", Severity.SHOULD, (Covers.TOUR, Covers.BOTH)),
    ("upload", "Upload the capture and note its link", Severity.MUST, (Covers.PLAN, Covers.BOTH)),
)
ADD_ONS = (("exterior", "Exterior pass", True), ("area_sheet", "Area sheet", False), ("rush", "Rush", False))


@dataclass(frozen=True)
class Cast:
    """Everyone and everything the story needs."""

    office: Office
    owner: Person
    scanner: Person
    client: Client
    house: Property
    packages: dict[str, Package]
    add_ons: dict[str, AddOn]
    drafter: Drafter
    card: RateCard

    @property
    def by_owner(self) -> Actor:
        return Actor.of_person(self.owner)

    @property
    def by_scanner(self) -> Actor:
        return Actor.of_person(self.scanner)


def invent(*, now: datetime) -> Cast:
    """Make the office and its people on an empty database."""
    office = _office(now)
    owner = Person.objects.create_user(
        "maren@lanternstreet.example", PASSWORD, name="Maren Quist", role=Role.OWNER, phone="+1 515 555 0101"
    )
    scanner = Person.objects.create_user(
        "tobias@lanternstreet.example", PASSWORD, name="Tobias Renn", role=Role.SCANNER, phone="+1 515 555 0102"
    )
    by = Actor.of_person(owner)
    return Cast(
        office=office,
        owner=owner,
        scanner=scanner,
        packages=_packages(),
        add_ons={code: AddOn.objects.create(code=code, name=name, needs_daylight=day) for code, name, day in ADD_ONS},
        drafter=_drafter(by, now),
        card=import_card(text=(HERE / "rate_card.json").read_text(), source="rate_card.json", by=by, now=now),
        client=_client(by, now),
        house=_house(by, now),
    )


def _office(now: datetime) -> Office:
    fields = {
        "name": "Lantern Street Scans", "street": "14 Lantern Street", "town": "Harrowfield", "region": "IA",
        "postcode": "50999", "email": "desk@lanternstreet.example", "phone": "+1 515 555 0100", "zone": ZONE,
        "latitude": Decimal("41.586800"), "longitude": Decimal("-93.625000"), "order_page_open": True,
    }  # fmt: skip
    return change_office(fields=fields, by=PROGRAM, now=now)


def _packages() -> dict[str, Package]:
    packages = {
        code: Package.objects.create(code=code, name=name, covers=covers, description=text, order=order)
        for order, (code, name, covers, text) in enumerate(PACKAGES)
    }
    PackageTask.objects.bulk_create(
        PackageTask(package=package, code=code, text=text, severity=severity, order=order)
        for package in packages.values()
        for order, (code, text, severity, covered) in enumerate(TASKS)
        if package.covers in covered
    )
    return packages


def _drafter(by: Actor, now: datetime) -> Drafter:
    fields = {
        "name": "Pemberley Drawing Office", "contact_name": "Ada Lindqvist", "email": "ada@pemberley.example",
        "zone": "Europe/Lisbon", "plan_hours": Decimal(16), "fix_hours": Decimal(6),
        "price_per_plan": Decimal("28.00"), "price_per_level": Decimal("6.00"),
    }  # fmt: skip
    return add_drafter(fields=fields, by=by, now=now)


def _client(by: Actor, now: datetime) -> Client:
    fields = {
        "name": "Odile Marchetti", "company": "Marchetti Homes", "email": "odile@marchettihomes.example",
        "phone": "+1 515 555 0142", "street": "3 Ferry Lane", "town": "Harrowfield", "region": "IA",
        "postcode": "50999", "country": "US",
    }  # fmt: skip
    return add_client(fields=fields, by=by, now=now)


def _house(by: Actor, now: datetime) -> Property:
    fields = {
        "street": "27 Alder Rise", "town": "Harrowfield", "region": "IA", "postcode": "50999", "zone": ZONE,
        "latitude": Decimal("41.661500"), "longitude": Decimal("-93.771000"), "level_count": 3,
        "area_m2": Decimal("227.6124"), "access_notes": "Park in the drive. The seller opens; a small dog, shut away.",
    }  # fmt: skip
    house = add_property(fields=fields, by=by, now=now)
    shape = parse_property((HERE / "house.json").read_text(), "house.json")
    return set_shape(house=house, shape=shape, by=by, now=now)
