"""A visit held for the weather, and one that ends at a closed door."""

import io
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core import mail
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from jobs.actions.shoots import cancel_shoot, set_time
from jobs.actions.weather import go_ahead, hold_for_weather
from jobs.models import CrewMember, MessageKind, NoAccessNote, ShootState
from office.actions.notices import send_waiting
from office.errors import Refused
from office.registry import registry
from tests.cast import NOW, visit

pytestmark = pytest.mark.django_db

DECIDES = NOW + timedelta(days=1)


@pytest.fixture
def held(confirmed, by_owner):
    return hold_for_weather(shoot=confirmed, note="rain on the exterior", decide_at=DECIDES, by=by_owner, now=NOW)


def kinds(shoot):
    return list(shoot.messages.values_list("kind", flat=True))


def weather_matters(now):
    return [matter for matter in registry.desk(now) if matter.key.startswith("weather:")]


def test_a_hold_keeps_the_time_and_the_crew_and_tells_the_client(held, scanner):
    assert held.state == ShootState.CONFIRMED
    assert CrewMember.objects.get(person=scanner).busy_from is not None
    send_waiting(now=NOW)
    sent = mail.outbox[-1]
    assert "rain on the exterior" in sent.body
    assert "costs you nothing" in sent.body


def test_the_decision_comes_onto_the_desk_when_it_is_due(held):
    assert weather_matters(DECIDES - timedelta(minutes=1)) == []
    (matter,) = weather_matters(DECIDES)
    assert "rain on the exterior" in matter.why


def test_going_ahead_clears_it_and_tells_the_client(held, by_owner):
    go_ahead(shoot=held, by=by_owner, now=DECIDES)
    assert weather_matters(DECIDES) == []
    assert kinds(held) == [MessageKind.CONFIRMED, MessageKind.WEATHER, MessageKind.GOES_AHEAD]
    with pytest.raises(Refused, match="does not wait"):
        go_ahead(shoot=held, by=by_owner, now=DECIDES)


def test_moving_or_cancelling_ends_the_hold(held, scanner, by_owner):
    moved = set_time(shoot=held, crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=4)))
    assert (moved.weather_decide_at, moved.weather_note) == (None, "")
    hold_for_weather(shoot=moved, note="storm", decide_at=DECIDES, by=by_owner, now=NOW)
    cancel_shoot(shoot=moved, why="sold", by=by_owner, now=NOW)
    assert weather_matters(DECIDES) == []


@pytest.mark.parametrize("decide_at", [NOW, NOW - timedelta(hours=1), NOW + timedelta(days=2, seconds=1)])
def test_a_decision_lies_between_now_and_the_visit(confirmed, by_owner, decide_at):
    with pytest.raises(Refused) as refusal:
        hold_for_weather(shoot=confirmed, note="rain", decide_at=decide_at, by=by_owner, now=NOW)
    assert refusal.value.field == "decide_at"


def test_only_a_visit_with_a_time_can_wait(shoot, by_owner):
    with pytest.raises(Refused, match="with a time"):
        hold_for_weather(shoot=shoot, note="rain", decide_at=DECIDES, by=by_owner, now=NOW)


def test_a_client_who_was_promised_nothing_is_told_nothing(timed, by_owner):
    hold_for_weather(shoot=timed, note="rain", decide_at=DECIDES, by=by_owner, now=NOW)
    go_ahead(shoot=timed, by=by_owner, now=NOW)
    assert kinds(timed) == []


def picture(orientation=None):
    output = io.BytesIO()
    exif = Image.Exif()
    exif[0x010F] = "A camera maker"
    exif.get_ifd(0x8825)[1] = "N"
    Image.new("RGB", (40, 20), "red").save(output, "JPEG", exif=exif)
    return SimpleUploadedFile("../../door.php", output.getvalue(), "text/html")


def no_access(browser, shoot, **changes):
    typed = {"why": "rang and called", "tried": ["rang", "called"], "waited_minutes": "20", "once": str(uuid4())}
    return browser.post(reverse("jobs:shoot-no-access", args=[shoot.number]), typed | changes)


def test_no_access_is_noted_with_what_was_tried_and_a_photo(scanner_browser, confirmed, scanner):
    assert no_access(scanner_browser, confirmed, photo=picture()).status_code == 302
    note = NoAccessNote.objects.get(shoot=confirmed)
    assert (note.tried_words, note.waited_minutes, note.noted_by) == (
        ["Rang the bell and knocked", "Called the client"], 20, scanner,
    )  # fmt: skip
    page = scanner_browser.get(confirmed.get_absolute_url()).content.decode()
    assert "Rang the bell and knocked, Called the client; waited 20 minutes" in page
    answer = scanner_browser.get(reverse("jobs:door-photo", args=[confirmed.number]))
    content = b"".join(answer.streaming_content)
    assert answer["Content-Type"] == "image/jpeg"
    with Image.open(io.BytesIO(content)) as kept:
        assert (kept.format, kept.size) == ("JPEG", (40, 20))
        assert not kept.getexif()
    assert "php" not in note.photo.name


def test_a_file_that_is_no_picture_stands_beside_its_field(scanner_browser, confirmed):
    answer = no_access(scanner_browser, confirmed, photo=SimpleUploadedFile("door.jpg", b"<script>", "image/jpeg"))
    assert "not a JPEG" in answer.content.decode()
    confirmed.refresh_from_db()
    assert confirmed.state == ShootState.CONFIRMED


def test_something_must_have_been_tried(scanner_browser, confirmed):
    assert "This field is required" in no_access(scanner_browser, confirmed, tried=[]).content.decode()


def test_without_a_photo_there_is_none_to_show(scanner_browser, confirmed):
    no_access(scanner_browser, confirmed)
    assert scanner_browser.get(reverse("jobs:door-photo", args=[confirmed.number])).status_code == 404


def test_the_owner_holds_decides_and_cancels_on_pages(owner_browser, timed, owner, time_machine):
    time_machine.move_to(NOW, tick=False)
    owner_browser.force_login(owner, backend="allauth.account.auth_backends.AuthenticationBackend")
    hold = {"note": "rain", "decide_at": "2027-03-02T12:00"}
    address = reverse("jobs:shoot-weather", args=[timed.number])
    late = owner_browser.post(address, hold | {"decide_at": "2027-03-09T12:00", "once": str(uuid4())})
    assert "between now and the arrival window" in late.content.decode()
    owner_browser.post(address, hold | {"once": str(uuid4())})
    assert "It goes ahead" in owner_browser.get(timed.get_absolute_url()).content.decode()
    owner_browser.post(reverse("jobs:shoot-goes-ahead", args=[timed.number]), {"once": str(uuid4())})
    owner_browser.post(reverse("jobs:shoot-confirm", args=[timed.number]), {"once": str(uuid4())})
    cancel = reverse("jobs:shoot-cancel", args=[timed.number])
    assert "was promised this visit" in owner_browser.get(cancel).content.decode()
    owner_browser.post(cancel, {"why": "sold", "wish": "client", "once": str(uuid4())})
    timed.refresh_from_db()
    assert (timed.state, timed.weather_decide_at) == (ShootState.CANCELLED, None)
