"""Pictures from phones, made harmless and small before they are kept."""

import io

from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from office.errors import Refused

MOST_BYTES = 15 * 1024 * 1024
MOST_PIXELS = 60_000_000
LONGEST_SIDE = 2048


def harmless_picture(upload: UploadedFile, field: str) -> bytes:
    """A new JPEG of the pixels alone: no place, no time, no camera, no size beyond what a desk needs.

    Typed by content, never by name; raises `Refused` beside `field`.
    """
    if upload.size > MOST_BYTES:
        raise Refused(_("Expected a picture under %d MB.") % (MOST_BYTES // 1024 // 1024), field=field)
    try:
        with Image.open(upload, formats=("JPEG", "PNG", "WEBP")) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                most = MOST_PIXELS // 1_000_000
                raise Refused(_("Expected a picture of at most %d million pixels.") % most, field=field)
            return _as_jpeg(ImageOps.exif_transpose(picture))
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise Refused(_("This is not a JPEG, PNG or WebP picture."), field=field) from None


def _as_jpeg(picture: Image.Image) -> bytes:
    small = picture.convert("RGB")
    small.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    plain = Image.new("RGB", small.size)
    plain.paste(small)
    output = io.BytesIO()
    plain.save(output, "JPEG", quality=82)
    return output.getvalue()
