"""What the phone keeps: the shell, its worker and its manifest; and the pictures it sends."""

import io
import re
from uuid import uuid4

import pytest
from django.conf import settings as django_settings
from django.contrib.staticfiles import finders
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse
from PIL import Image

from jobs.actions.photos import add_photo
from jobs.actions.pictures import LONGEST_SIDE
from jobs.models import PhotoNote, Shoot, ShootState, Station
from jobs.views.field_assets import MODULES, assets
from jobs.views.field_words import field_words
from office.actions.actors import Actor
from office.errors import Refused
from office.models import Event
from tests.cast import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_files(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "files"


@pytest.fixture
def by_scanner(scanner):
    return Actor.of_person(scanner)


def script(name: str) -> str:
    with open(finders.find(f"js/field/{name}"), encoding="utf-8") as file:
        return file.read()


def test_the_shell_is_the_same_for_everybody_and_holds_nobodys_data(client, scanner_browser, confirmed):
    shell = scanner_browser.get(reverse("jobs:field-shell")).content
    assert scanner_browser.get(reverse("jobs:field", args=[confirmed.number])).content == shell
    assert scanner_browser.get(reverse("jobs:field-home")).content == shell
    for secret in (confirmed.number, confirmed.property.street, "Tobias", "csrfmiddlewaretoken"):
        assert secret.encode() not in shell


def test_the_pages_themselves_ask_for_sign_in(client, confirmed):
    for address in (reverse("jobs:field-home"), reverse("jobs:field", args=[confirmed.number])):
        assert client.get(address).url.startswith("/account/login/")


def test_the_shell_has_no_inline_script_or_style(client):
    text = client.get(reverse("jobs:field-shell")).text
    scripts = re.findall(r"<script([^>]*)>", text)
    assert all('src="' in found or 'type="application/json"' in found for found in scripts)
    assert "style=" not in text
    assert "<style" not in text
    assert not re.search(r"\son\w+=", text)


def test_the_worker_keeps_every_file_that_the_shell_names(client):
    shell = client.get(reverse("jobs:field-shell")).text
    named = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', shell))
    assert named <= set(assets())
    worker = client.get(reverse("jobs:field-worker"))
    assert worker["Content-Type"].startswith("text/javascript")
    assert "no-cache" in worker["Cache-Control"]
    for address in assets():
        assert f'"{address}"' in worker.text.replace("\\u002D", "-")


def test_every_module_that_a_module_imports_is_kept():
    kept = {*MODULES, "main.js"}
    for name in kept:
        for imported in re.findall(r'from "\./([^"]+)"', script(name)):
            assert imported in kept


def test_everything_kept_is_there_to_be_kept():
    for address in assets():
        assert finders.find(address.removeprefix(django_settings.STATIC_URL)), address


def test_hashed_file_names_are_kept_under_the_names_the_page_asks_for(client, settings, tmp_path):
    settings.STATIC_ROOT = tmp_path / "static"
    backend = "django.contrib.staticfiles.storage.ManifestStaticFilesStorage"
    settings.STORAGES = {**settings.STORAGES, "staticfiles": {"BACKEND": backend}}
    call_command("collectstatic", interactive=False, verbosity=0)
    shell = client.get(reverse("jobs:field-shell")).text
    named = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', shell))
    assert any(re.search(r"main\.[0-9a-f]{12}\.js$", address) for address in named)
    assert named <= set(assets())
    for address in assets():
        assert (settings.STATIC_ROOT / address.removeprefix(settings.STATIC_URL)).is_file(), address


def test_no_script_evaluates_text_or_writes_markup():
    for name in (*MODULES, "main.js"):
        assert not re.search(r"\beval\(|new Function|innerHTML|insertAdjacentHTML|document\.write", script(name)), name


def test_every_word_that_the_scripts_say_is_given_to_them():
    known = set(field_words())
    for name in (*MODULES, "main.js"):
        text = script(name)
        said = set(re.findall(r"\bwords\.(\w+)", text))
        counted = {f"{word}_{ending}" for word in re.findall(r'counted\("(\w+)"', text) for ending in ("one", "many")}
        assert said | counted <= known, name


def test_the_manifest_makes_it_installable(client):
    manifest = client.get(reverse("jobs:field-manifest"))
    assert manifest["Content-Type"] == "application/manifest+json"
    told = manifest.json()
    # W3C Web Application Manifest: name, start_url in scope, display, icons of 192 and 512 pixels
    assert told["start_url"] == told["scope"] == "/field/"
    assert (told["name"], told["display"]) == ("Stairhead field", "standalone")
    for icon in told["icons"]:
        side = int(icon["sizes"].split("x")[0])
        with Image.open(finders.find(icon["src"].removeprefix(django_settings.STATIC_URL))) as picture:
            assert picture.size == (side, side)


def test_the_worker_may_rule_the_field_pages_and_no_others(client):
    assert reverse("jobs:field-worker").rpartition("/")[0] + "/" == reverse("jobs:field-home")
    assert "Service-Worker-Allowed" not in client.get(reverse("jobs:field-worker"))


# Pictures


def jpeg(width=40, height=30, exif=None, kind="JPEG") -> bytes:
    output = io.BytesIO()
    more = {"exif": exif} if exif else {}
    Image.new("RGB", (width, height), "#97331c").save(output, kind, **more)
    return output.getvalue()


def sent(content=None, name="door.jpg"):
    return SimpleUploadedFile(name, jpeg() if content is None else content)


def take(shoot, by, content=None, **more):
    fields = {"uuid": uuid4(), "picture": sent(content), "note": "door sticks", "station": None, **more}
    return add_photo(shoot=shoot, **fields, by=by, now=NOW)


@pytest.fixture
def station(confirmed, by_scanner):
    hall = confirmed.property.spaces.get(code="H")
    return Station.objects.create(
        shoot=confirmed, number=1, level=hall.level, space=hall, logged_by=by_scanner.person, logged_at=NOW
    )


def test_a_picture_is_kept_with_its_station_its_words_and_its_maker(confirmed, by_scanner, station):
    photo = take(confirmed, by_scanner, station=station.uuid)
    assert (photo.station, photo.note, photo.taken_by) == (station, "door sticks", by_scanner.person)
    assert Event.objects.get(verb="photo-noted").text == "took a picture at 1 in Hall"


def test_a_picture_of_a_station_taken_out_meanwhile_is_kept_with_the_walk(confirmed, by_scanner):
    assert take(confirmed, by_scanner, station=uuid4()).station is None


def test_the_same_picture_twice_is_one(confirmed, by_scanner):
    uuid = uuid4()
    assert take(confirmed, by_scanner, uuid=uuid) == take(confirmed, by_scanner, uuid=uuid)
    assert PhotoNote.objects.count() == 1


def test_a_picture_of_another_walk_is_not_taken_over(confirmed, by_scanner, client_of_office, package):
    uuid = uuid4()
    take(confirmed, by_scanner, uuid=uuid)
    other = Shoot.objects.create(
        number="S-2027-0099", client=client_of_office, property=confirmed.property, package=package,
        state=ShootState.CONFIRMED, ordered_at=NOW,
    )  # fmt: skip
    with pytest.raises(Refused, match="another walk"):
        take(other, by_scanner, uuid=uuid)


def test_where_and_when_it_was_taken_does_not_stay_in_it(confirmed, by_scanner):
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (41.0, 36.0, 0.0)}  # GPS IFD (Exif 2.32 §4.6.6)
    exif[0x0110] = "Camera of Tobias"  # Model
    photo = take(confirmed, by_scanner, jpeg(exif=exif))
    content = photo.picture.read()
    assert b"Tobias" not in content
    with Image.open(io.BytesIO(content)) as picture:
        assert dict(picture.getexif()) == {}


def test_a_picture_held_sideways_is_turned_upright(confirmed, by_scanner):
    exif = Image.Exif()
    exif[0x0112] = 6  # Orientation: turned by 90° (Exif 2.32 §4.6.4)
    with Image.open(take(confirmed, by_scanner, jpeg(40, 30, exif)).picture) as picture:
        assert picture.size == (30, 40)


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_other_pictures_become_jpeg_and_large_ones_small(confirmed, by_scanner, kind):
    with Image.open(take(confirmed, by_scanner, jpeg(4000, 1000, kind=kind)).picture) as picture:
        assert (picture.format, picture.size) == ("JPEG", (LONGEST_SIDE, LONGEST_SIDE // 4))


@pytest.mark.parametrize("content", [b"<svg onload='x'/>", b"GIF89a", b"%PDF-1.7", jpeg()[:200], b"x"])
def test_what_is_no_picture_is_refused_whatever_its_name(confirmed, by_scanner, content):
    with pytest.raises(Refused, match="not a JPEG"):
        take(confirmed, by_scanner, content)
    assert not PhotoNote.objects.exists()


def test_a_picture_that_unpacks_to_too_much_is_refused(confirmed, by_scanner, monkeypatch):
    monkeypatch.setattr("jobs.actions.pictures.MOST_PIXELS", 1000)
    with pytest.raises(Refused, match="million pixels"):
        take(confirmed, by_scanner)


def post(browser, shoot, **fields):
    return browser.post(reverse("jobs:field-photo", args=[shoot.number]), {"uuid": str(uuid4()), **fields})


def test_the_phone_sends_it_and_the_desk_sees_it(scanner_browser, confirmed, station):
    uuid = str(uuid4())
    answer = post(scanner_browser, confirmed, uuid=uuid, station=str(station.uuid), note="door sticks", picture=sent())
    assert answer.json() == {"uuid": uuid}
    page = scanner_browser.get(reverse("jobs:walk", args=[confirmed.number])).text
    assert "door sticks" in page
    shown = scanner_browser.get(reverse("jobs:photo", args=[confirmed.number, uuid]))
    assert (shown["Content-Type"], shown["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    state = scanner_browser.get(reverse("jobs:field-state", args=[confirmed.number])).json()
    assert state["log"]["stations"][0]["has_photo"] is True


@pytest.mark.parametrize("fields", [{}, {"uuid": "7", "picture": "x"}, {"note": "x" * 300}])
def test_a_picture_without_its_parts_is_a_400_as_json(scanner_browser, confirmed, fields):
    answer = post(scanner_browser, confirmed, **fields)
    assert answer.status_code == 400
    assert answer.json()["why"]


def test_a_picture_is_not_shown_through_another_walk(scanner_browser, confirmed, by_scanner):
    photo = take(confirmed, by_scanner)
    assert scanner_browser.get(reverse("jobs:photo", args=["S-1999-0001", photo.uuid])).status_code == 404
