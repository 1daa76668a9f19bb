"""Photo notes: a picture and a few words from the crew, made harmless and small before they are kept."""

import io
from datetime import datetime
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from jobs.models import PhotoNote, Shoot
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused

MOST_BYTES = 15 * 1024 * 1024
MOST_PIXELS = 60_000_000
LONGEST_SIDE = 2048
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
    photo.picture.save("picture.jpg", ContentFile(_harmless(picture)), save=True)
    where = photo.station or shoot
    record(by=by, now=now, verb="photo-noted", text=_("took a picture at %s") % where, subject=photo, job=shoot.number)
    return photo


def _harmless(upload: UploadedFile) -> bytes:
    """A new JPEG of the pixels alone: no place, no time, no camera, no size beyond what a desk needs."""
    if upload.size > MOST_BYTES:
        raise Refused(_("Expected a picture under %d MB.") % (MOST_BYTES // 1024 // 1024), field="picture")
    try:
        with Image.open(upload, formats=("JPEG", "PNG", "WEBP")) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise Refused(
                    _("Expected a picture of at most %d million pixels.") % (MOST_PIXELS // 1_000_000), field="picture"
                )
            return _as_jpeg(ImageOps.exif_transpose(picture))
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise Refused(_("This is not a JPEG, PNG or WebP picture."), field="picture") from None


def _as_jpeg(picture: Image.Image) -> bytes:
    small = picture.convert("RGB")
    small.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    plain = Image.new("RGB", small.size)
    plain.paste(small)
    output = io.BytesIO()
    plain.save(output, "JPEG", quality=82)
    return output.getvalue()
