"""Taking files in: typed by what is in them, never by their name; counted, hashed, and capped."""

import hashlib
import re
from dataclasses import dataclass

import puremagic
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from PIL import Image

from office.errors import Refused

SUFFIXES = {"application/pdf": "pdf", "image/png": "png", "image/jpeg": "jpg", "image/tiff": "tif"}
"""The four types a plan may have. Anything else is only ever given out as bytes."""
BYTES = "application/octet-stream"
PICTURES = {"PNG": "image/png", "JPEG": "image/jpeg", "MPO": "image/jpeg", "TIFF": "image/tiff"}
HEAD = 64 * 1024
MOST_BYTES = 100 * 1024 * 1024
MOST_PIXELS = 150_000_000
"""Room for the largest sheet, ISO 216 A0, at 300 dots per inch (139 million)."""
LONGEST_NAME = 120


@dataclass(frozen=True)
class Taken:
    """What an upload turned out to be. `name` is the sender's, made harmless; it never names a stored file."""

    name: str
    content_type: str
    size: int
    sha256: str

    @property
    def suffix(self) -> str:
        return SUFFIXES.get(self.content_type, "bin")


def take_plan(upload: UploadedFile, field: str = "upload") -> Taken:
    """A plan: PDF, PNG, JPEG or TIFF by content; raises `Refused`."""
    taken = take_file(upload, field)
    if taken.content_type not in SUFFIXES:
        raise Refused(
            _("A plan is a PDF, PNG, JPEG or TIFF file; this is none of them, whatever its name."), field=field
        )
    return taken


def take_file(upload: UploadedFile, field: str = "upload") -> Taken:
    """Any file within the size cap; one that is not of the four types counts as plain bytes. Raises `Refused`."""
    _check_size(upload, field)
    content_type = _type_of(upload, field)
    return Taken(harmless_name(upload.name or ""), content_type, upload.size, _sha256(upload))


def harmless_name(name: str) -> str:
    """The last part of a path, without control, direction and shell characters, cut to a sensible length."""
    last = re.split(r"[\\/]", name)[-1]
    plain = re.sub(r"[^\w .,()+-]", "_", "".join(c for c in last if c.isprintable())).strip(" .")
    stem, dot, suffix = plain.rpartition(".")
    short = f"{stem[: LONGEST_NAME - len(suffix) - 1]}.{suffix}" if dot and len(suffix) < 10 else plain[:LONGEST_NAME]
    return short or "file"


def most_bytes() -> int:
    return getattr(settings, "LARGEST_UPLOAD", MOST_BYTES)


def _check_size(upload: UploadedFile, field: str) -> None:
    if not upload.size:
        raise Refused(_("This file is empty."), field=field)
    if upload.size > most_bytes():
        limit = most_bytes() // (1024 * 1024)
        raise Refused(_("This file is larger than %d MB.") % limit, field=field)


def _type_of(upload: UploadedFile, field: str) -> str:
    upload.seek(0)
    head = upload.read(HEAD)
    upload.seek(0)
    try:
        told = {match.mime_type for match in puremagic.magic_string(head)}
    except puremagic.PureError:
        return BYTES
    if "application/pdf" in told:
        return "application/pdf" if head.startswith(b"%PDF-") else BYTES
    return _picture_type(upload, field) if told & set(SUFFIXES) else BYTES


def _picture_type(upload: UploadedFile, field: str) -> str:
    """By the picture's own header, read without unpacking it; one that would unpack to too much is refused."""
    try:
        with Image.open(upload, formats=("PNG", "JPEG", "TIFF")) as picture:
            pixels, kind = picture.width * picture.height, PICTURES.get(picture.format or "", BYTES)
    except Image.DecompressionBombError:
        pixels, kind = MOST_PIXELS + 1, BYTES
    except (OSError, ValueError, SyntaxError, OverflowError, KeyError):
        return BYTES
    finally:
        upload.seek(0)
    if pixels > MOST_PIXELS:
        raise Refused(_("This picture has more than %d million pixels.") % (MOST_PIXELS // 1_000_000), field=field)
    return kind


def _sha256(upload: UploadedFile) -> str:
    digest = hashlib.sha256()
    upload.seek(0)
    for chunk in upload.chunks():
        digest.update(chunk)
    upload.seek(0)
    return digest.hexdigest()
