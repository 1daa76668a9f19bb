"""The desk's pages around a walk, in a real browser: nothing blocked, nothing wider than a phone, open to everybody."""

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone

from jobs.actions.entry_codes import write_entry_code
from jobs.actions.shoots import confirm_shoot, note_captured, pencil_shoot, set_time
from jobs.actions.spaces import start_shape
from jobs.actions.walks import import_walk
from jobs.rules.first_shape import FirstFacts
from tests.cast import make_house, visit

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.browser]
WALK = (
    "station,level,space,pass,pair_of,opening,ties_to,x,y\n"
    "1,1,H1,both,,,,0,0\n2,1,K1,both,,,,3,0\n3,1,R1,both,,,,4,3\n4,1,H1,plan,,,1,0.3,0.2\n"
)
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture
def job(client_of_office, house, package, scanner, owner, by_owner):
    """A captured visit with a walk, a sketch, tasks and a sealed code."""
    now = timezone.now()
    start_shape(house=house, facts=FirstFacts(levels=2, bedrooms=2, bathrooms=1), by=by_owner, now=now)
    shoot = pencil_shoot(client=client_of_office, property=house, package=package, add_ons={}, by=by_owner, now=now)
    set_time(shoot=shoot, crew=[scanner], by=by_owner, now=now, **visit(now + timedelta(minutes=5)))
    write_entry_code(shoot=shoot, kind="gate", code="5120", by=by_owner, now=now)
    confirm_shoot(shoot=shoot, by=by_owner, now=now)
    import_walk(shoot=shoot, content=WALK.encode(), file_name="walk.csv", by=by_owner, now=now)
    return note_captured(shoot=shoot, by=by_owner, now=now)


def addresses(shoot) -> list[str]:
    house, package = shoot.property, shoot.package
    space, level = house.spaces.first(), house.levels.first()
    return [
        reverse("jobs:walk", args=[shoot.number]),
        reverse("jobs:entry-codes", args=[shoot.number]),
        reverse("jobs:task-add", args=[shoot.number]),
        reverse("jobs:property", args=[house.pk]),
        reverse("jobs:property-spaces", args=[house.pk]),
        reverse("jobs:property-spaces", args=[make_house().pk]),
        reverse("jobs:property-lines", args=[house.pk]),
        reverse("jobs:space", args=[space.pk]),
        reverse("jobs:level", args=[level.pk]),
        reverse("jobs:packages"),
        reverse("jobs:package", args=[package.pk]),
        reverse("jobs:walk-settings"),
    ]


@pytest.mark.parametrize("viewport", [{"width": 390, "height": 844}, {"width": 1280, "height": 900}])
def test_the_pages_around_a_walk_are_open_to_everybody(signed_in, owner, job, viewport):
    page = signed_in(owner, viewport=viewport)
    wrong = []
    for address in addresses(job):
        page.goto(address)
        if page.evaluate("document.documentElement.scrollWidth") > viewport["width"]:
            wrong.append(f"{address} is wider than the screen")
        found = Axe().run(page, options={"runOnly": RULES})
        wrong += [f"{address} {each['id']}: {each['nodes'][0]['html'][:120]}" for each in found.response["violations"]]
    assert wrong == []
