"""Taking files in: typed by what is in them, never by their name; counted, hashed, and capped."""

import hashlib
import re
from dataclasses import dataclass
from math import inf

import puremagic
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from PIL import Image

from deliverables.rules.plan.limits import PlanLimits
from office.errors import Refused

SUFFIXES = {"application/pdf": "pdf", "image/png": "png", "image/jpeg": "jpg", "image/tiff": "tif"}
"""The four types a plan may have. Anything else is only ever given out as bytes."""
BYTES = "application/octet-stream"
PICTURES = {"PNG": "image/png", "JPEG": "image/jpeg", "MPO": "image/jpeg", "TIFF": "image/tiff"}
HEAD = 64 * 1024
LIMITS = PlanLimits()
MEGA = 1_000_000
LONGEST_NAME = 120


@dataclass(frozen=True)
class Taken:
    """What an upload turned out to be. `name` is the sender's, made harmless; it never names a stored file."""

    name: str
    content_type: str
    size: int
    sha256: str


def take_plan(upload: UploadedFile, field: str = "upload") -> Taken:
    """A plan: PDF, PNG, JPEG or TIFF by content, and no larger than the plan check can look into. Raises `Refused`."""
    taken = take_file(upload, field)
    if _pixels_of(upload) > LIMITS.most_pixels:
        limit = LIMITS.most_pixels // MEGA
        raise Refused(_("This picture has more than %d million pixels.") % limit, field=field)
    if taken.content_type not in SUFFIXES:
        raise Refused(
            _("A plan is a PDF, PNG, JPEG or TIFF file; this is none of them, whatever its name."), field=field
        )
    return taken


def take_file(upload: UploadedFile, field: str = "upload") -> Taken:
    """Any file within the size cap; one that is not of the four types counts as plain bytes. Raises `Refused`."""
    _check_size(upload, field)
    content_type = _type_of(upload)
    return Taken(harmless_name(upload.name or ""), content_type, upload.size, _sha256(upload))


def harmless_name(name: str) -> str:
    """The last part of a path, without control, direction and shell characters, cut to a sensible length."""
    last = re.split(r"[\\/]", name)[-1]
    plain = re.sub(r"[^\w .,()+-]", "_", "".join(c for c in last if c.isprintable())).strip(" .")
    stem, dot, suffix = plain.rpartition(".")
    short = f"{stem[: LONGEST_NAME - len(suffix) - 1]}.{suffix}" if dot and len(suffix) < 10 else plain[:LONGEST_NAME]
    return short or "file"


def most_bytes() -> int:
    return getattr(settings, "LARGEST_UPLOAD", LIMITS.most_bytes)


def _check_size(upload: UploadedFile, field: str) -> None:
    if not upload.size:
        raise Refused(_("This file is empty."), field=field)
    if upload.size > most_bytes():
        limit = most_bytes() // MEGA
        raise Refused(_("This file is larger than %d MB.") % limit, field=field)


def _type_of(upload: UploadedFile) -> str:
    """One of the four types when the first bytes say so and the header can be read, else plain bytes."""
    upload.seek(0)
    head = upload.read(HEAD)
    try:
        told = {match.mime_type for match in puremagic.magic_string(head)}
    except puremagic.PureError:
        return BYTES
    if "application/pdf" in told:
        return "application/pdf" if head.startswith(b"%PDF-") else BYTES
    return _header_of(upload)[0] if told & set(SUFFIXES) else BYTES


def _pixels_of(upload: UploadedFile) -> float:
    return _header_of(upload)[1]


def _header_of(upload: UploadedFile) -> tuple[str, float]:
    """Type and pixels by a picture's own header, read without unpacking it."""
    upload.seek(0)
    try:
        with Image.open(upload, formats=("PNG", "JPEG", "TIFF")) as picture:
            return PICTURES.get(picture.format or "", BYTES), picture.width * picture.height
    except Image.DecompressionBombError:
        return BYTES, inf
    except (OSError, ValueError, SyntaxError, OverflowError, KeyError):
        return BYTES, 0
    finally:
        upload.seek(0)


def _sha256(upload: UploadedFile) -> str:
    digest = hashlib.sha256()
    upload.seek(0)
    for chunk in upload.chunks():
        digest.update(chunk)
    upload.seek(0)
    return digest.hexdigest()
