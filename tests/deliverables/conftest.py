"""The cast of the top floor's tests."""

from decimal import Decimal

import pytest

from deliverables.actions.bundles import hand_over, make_bundle
from deliverables.actions.drafters import link_of_drafter
from deliverables.actions.drafts import receive_draft
from deliverables.actions.fixes import ask_fix
from deliverables.actions.plan_orders import accept_plan, order_plan, send_plan_order
from deliverables.models import Bundle, Drafter, FixRequest, PlanOrder
from jobs.models import Covers, EditingTask, Level, Package, Severity, Shoot, ShootState, Space
from office.actions.actors import Actor
from office.link_session import KEY
from tests.cast import NOW
from tests.deliverables.papers import plan_picture, sent


@pytest.fixture(autouse=True)
def own_files(settings, tmp_path):
    """Each test keeps its files in a folder of its own."""
    settings.MEDIA_ROOT = tmp_path / "files"


def make_drafter(name: str = "Fairline Drawing", **fields) -> Drafter:
    """A drafter in Manila, nine to six, eight hours for a plan and four for a fix."""
    return Drafter.objects.create(**{
        "name": name, "contact_name": "Ines Fajardo", "email": f"{name.split()[0].lower()}@fairline.example",
        "zone": "Asia/Manila", "hours": {day: [["09:00", "18:00"]] for day in ("mon", "tue", "wed", "thu", "fri")},
        "plan_hours": Decimal(8), "fix_hours": Decimal(4), "price_per_plan": Decimal("12.00"),
        "price_per_m2": Decimal("0.05"), "price_per_level": Decimal("3.00"), **fields,
    })  # fmt: skip


@pytest.fixture
def drafter(office):
    return make_drafter()


def make_shoot(client, house, package, number: str = "S-2027-0001", **fields) -> Shoot:
    return Shoot.objects.create(**{
        "number": number, "client": client, "property": house, "package": package, "state": ShootState.CAPTURED,
        "ordered_at": NOW, "captured_at": NOW, "capture_url": "https://capture.example/27-alder-rise",
        "tour_branded_url": "https://tour.example/b/27", "tour_unbranded_url": "https://tour.example/u/27", **fields,
    })  # fmt: skip


@pytest.fixture
def shoot(client_of_office, house, package):
    """A captured shoot of a package with tour and plan, its links set and nothing left to edit."""
    return make_shoot(client_of_office, house, package)


@pytest.fixture
def tour_package(office):
    return Package.objects.create(code="tour", name="Tour", covers=Covers.TOUR)


@pytest.fixture
def levels(house):
    low = Level.objects.create(property=house, number=1, name="Basement", grade="below")
    high = Level.objects.create(property=house, number=2, name="Ground floor", grade="at", elevation_m=3)
    Space.objects.create(property=house, level=low, code="B1", name="Workshop")
    Space.objects.create(property=house, level=high, code="G1", name="Living room")
    return [low, high]


def make_order(shoot: Shoot, drafter: Drafter, by: Actor, **fields) -> PlanOrder:
    wanted = {"notes": "Please show the stove.", "branded": False, "measuring_rule": "ansi-z765", **fields}
    return order_plan(shoot=shoot, drafter=drafter, by=by, now=NOW, **wanted)


@pytest.fixture
def plan_order(shoot, drafter, by_owner) -> PlanOrder:
    """Written and not yet sent."""
    return make_order(shoot, drafter, by_owner)


@pytest.fixture
def sent_order(plan_order, by_owner) -> PlanOrder:
    """With the drafter."""
    return send_plan_order(plan_order=plan_order, by=by_owner, now=NOW)


@pytest.fixture
def by_drafter(drafter, by_owner) -> Actor:
    """The holder of the drafter's link."""
    return Actor.of_link(link_of_drafter(drafter=drafter, by=by_owner, now=NOW))


@pytest.fixture
def by_other_drafter(office, by_owner) -> Actor:
    other = make_drafter("Kettle Plans", contact_name="Bo")
    return Actor.of_link(link_of_drafter(drafter=other, by=by_owner, now=NOW))


@pytest.fixture
def draft(sent_order, by_drafter):
    """Draft 1, to check."""
    upload = sent(plan_picture(), "plan.png", "image/png")
    return receive_draft(plan_order=sent_order, upload=upload, note="", by=by_drafter, now=NOW)


def ask(draft, by: Actor, text: str = "The pantry is missing.", **fields) -> FixRequest:
    wanted = {"kind": "missing_space", "page": 1, "x": Decimal("0.25"), "y": Decimal("0.5"), **fields}
    return ask_fix(draft=draft, text=text, by=by, now=NOW, **wanted)


@pytest.fixture
def fix(draft, by_owner) -> FixRequest:
    """Asked and not yet told."""
    return ask(draft, by_owner)


@pytest.fixture
def accepted(draft, by_owner) -> PlanOrder:
    return accept_plan(plan_order=draft.plan_order, measured_area_m2=None, by=by_owner, now=NOW)


@pytest.fixture
def bundle(accepted, shoot, by_owner) -> Bundle:
    """In the making, with nothing missing."""
    return make_bundle(shoot=shoot, release_rule="at_once", message="Here it is.", by=by_owner, now=NOW)


@pytest.fixture
def handed_over(bundle, by_owner) -> Bundle:
    return hand_over(bundle=bundle, by=by_owner, now=NOW)


@pytest.fixture
def blocking_task(shoot) -> EditingTask:
    return EditingTask.objects.create(shoot=shoot, code="blur", text="Blur faces", severity=Severity.MUST)


def open_by(client, link, now=None) -> None:
    """Let this browser hold the link, as following it from the mail does."""
    session = client.session
    session[KEY] = {**session.get(KEY, {}), str(link.pk): 4_000_000_000}
    session.save()
