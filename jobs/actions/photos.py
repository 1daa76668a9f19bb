"""Photo notes: a picture and a few words from the crew, made harmless and small before they are kept."""

from datetime import datetime
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import PhotoNote, Shoot
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused

from .pictures import harmless_picture

MOST_PHOTOS = 300


@transaction.atomic
def add_photo(
    *, shoot: Shoot, uuid: UUID, picture: UploadedFile, note: str, station: UUID | None, by: Actor, now: datetime
) -> PhotoNote:
    """Keep the picture with its station, or with the shoot where that is gone; the same uuid again is the same."""
    shoot = locked(shoot)
    known = PhotoNote.objects.filter(uuid=uuid).first()
    if known:
        if known.shoot_id != shoot.pk:
            raise Refused(_("This picture belongs to another walk."), field="picture")
        return known
    if shoot.photos.count() >= MOST_PHOTOS:
        raise Refused(_("A walk holds at most %d pictures.") % MOST_PHOTOS, field="picture")
    photo = PhotoNote(
        uuid=uuid, shoot=shoot, station=shoot.stations.filter(uuid=station).first() if station else None,
        note=note, taken_by=by.person, taken_at=now,
    )  # fmt: skip
    photo.picture.save("picture.jpg", ContentFile(harmless_picture(picture, "picture")), save=True)
    where = photo.station or shoot
    record(by=by, now=now, verb="photo-noted", text=_("took a picture at %s") % where, subject=photo, job=shoot.number)
    return photo
