"""Pages from PNG, JPEG and TIFF files: any colour space, depth and orientation to plain L or RGB."""

import io
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from .limits import PlanLimits, Unreadable
from .sheets import PlanFile, Sheet

if TYPE_CHECKING:
    from PIL import Image

UNSTATED_DPI = 72
"""Where a picture states no resolution, 72 is designated (Exif 2.32, 4.6.4.1 A, XResolution)."""
PLAUSIBLE_DPI = range(20, 5000)
ORIENTATION, UPRIGHT = 0x0112, 1
NEW_SUBFILE_TYPE = 254
REDUCED = 1
"""TIFF 6.0, section 8: bit 0 of NewSubfileType marks a smaller version of another picture in the file."""
DEEP_WHITES = (255, 4095, 65535)
NOT_TEXT = {"icc_profile", "exif", "dpi", "jfif", "photoshop", "mp", "transparency", "gamma", "adobe"}
LONGEST_NOTE = 2000
DAMAGED = "The picture is damaged or cut short."


def open_image(content: bytes, kind: str, limits: PlanLimits) -> PlanFile:
    """The pictures of a PNG, JPEG or TIFF; only TIFF has more than one page."""
    from PIL import Image

    try:
        picture = Image.open(io.BytesIO(content), formats=(kind,))
        _check_size(picture.size, limits)
        count = int(getattr(picture, "n_frames", 1)) if kind == "TIFF" else 1
    except Unreadable:
        raise
    except Image.DecompressionBombError:
        raise Unreadable("The picture has more pixels than can be read.") from None
    except Exception:  # decoders raise anything at all on hostile bytes
        raise Unreadable(DAMAGED) from None
    return PlanFile(count, "", _sheets(picture, min(count, limits.most_pages), limits))


def _sheets(picture: "Image.Image", count: int, limits: PlanLimits) -> Iterator[Sheet]:
    number = 0
    for index in range(count):
        try:
            picture.seek(index)
            if _is_reduced(picture):
                continue
            number += 1
            sheet = _sheet(picture, number, limits)
        except Unreadable as refusal:
            sheet = Sheet(number, None, UNSTATED_DPI, fault=str(refusal))
        except Exception:  # as above
            sheet = Sheet(max(number, 1), None, UNSTATED_DPI, fault=DAMAGED)
        yield sheet


def _is_reduced(picture: "Image.Image") -> bool:
    tags = getattr(picture, "tag_v2", {})
    kind = tags.get(NEW_SUBFILE_TYPE, 0)
    return isinstance(kind, int) and bool(kind & REDUCED)


def _sheet(picture: "Image.Image", number: int, limits: PlanLimits) -> Sheet:
    from PIL import ImageOps

    _check_size(picture.size, limits)
    picture.load()
    dpi, behind = _dpi(picture), _notes(picture)
    turned = picture.getexif().get(ORIENTATION, UPRIGHT) != UPRIGHT
    plain = _plain(ImageOps.exif_transpose(picture) if turned else picture)
    return Sheet(number, plain, dpi, behind=behind, detail_px=max(plain.size))


def _check_size(size: tuple[int, int], limits: PlanLimits) -> None:
    width, height = size
    if max(size) > limits.longest_side_px or width * height > limits.most_pixels:
        most = limits.most_pixels // 1_000_000
        raise Unreadable(
            f"The page has {width} × {height} pixels; at most {limits.longest_side_px} a side "
            f"and {most} million in all are read."
        )


def _plain(picture: "Image.Image") -> "Image.Image":
    """The picture as L or RGB on white paper."""
    if picture.mode.startswith("I") or picture.mode == "F":
        return _eight_bits(picture)
    if "A" in picture.getbands() or "transparency" in picture.info:
        return _on_paper(picture.convert("RGBA"))
    plain = "L" if picture.mode in {"1", "L"} else "RGB"
    is_reused = picture.format == "TIFF"  # seeking the next page overwrites this one
    return picture if picture.mode == plain and not is_reused else picture.convert(plain)


def _eight_bits(picture: "Image.Image") -> "Image.Image":
    """A picture of 10 to 32 bits in 8, by the smallest usual white that holds its lightest pixel."""
    import numpy as np
    from PIL import Image

    levels = np.asarray(picture, dtype=np.float32)
    lightest = float(np.nanmax(levels, initial=0))
    white = 1.0 if picture.mode == "F" and lightest <= 1 else next((w for w in DEEP_WHITES if lightest <= w), lightest)
    return Image.fromarray((np.clip(np.nan_to_num(levels), 0, white) * (255 / white)).astype(np.uint8))


def _on_paper(picture: "Image.Image") -> "Image.Image":
    """A transparent picture on white; on black when its ink is white and would not show."""
    from PIL import Image

    white = Image.new("RGBA", picture.size, "white")
    white.alpha_composite(picture)
    if white.convert("L").getextrema()[0] > 250:  # type: ignore[operator]
        white = Image.new("RGBA", picture.size, "black")
        white.alpha_composite(picture)
    return white.convert("RGB")


def _dpi(picture: "Image.Image") -> int:
    stated = picture.info.get("dpi", (UNSTATED_DPI,))
    try:
        dpi = round(float(stated[0]))
    except (TypeError, ValueError, OverflowError, ZeroDivisionError, IndexError):
        return UNSTATED_DPI
    return dpi if dpi in PLAUSIBLE_DPI else UNSTATED_DPI


def _notes(picture: "Image.Image") -> tuple[str, ...]:
    """Texts kept with the picture: PNG text, comments, the maker and owner named in its tags."""
    kept: list[Any] = [value for key, value in picture.info.items() if key not in NOT_TEXT]
    kept += list(picture.getexif().values())
    texts = (value.decode("utf-8", "replace") if isinstance(value, bytes) else value for value in kept)
    return tuple(text[:LONGEST_NOTE] for text in texts if isinstance(text, str) and text.strip())
