"""Files given out: always as an attachment, never under a type that its sender chose."""

from collections.abc import Iterator

from django.db.models.fields.files import FieldFile
from django.http import FileResponse, HttpRequest, HttpResponseBase
from django.utils.cache import patch_cache_control

from deliverables.actions.intake import BYTES, SUFFIXES
from deliverables.models import BundleItem, Draft, DraftPage

from .ranges import give

CHUNK = 256 * 1024


def give_draft(request: HttpRequest, draft: Draft) -> HttpResponseBase:
    """A draft under a name of ours: the order's number and its own."""
    name = f"{draft.plan_order.number}-draft-{draft.number}.{SUFFIXES.get(draft.content_type, 'bin')}"
    return _give(request, draft.file, draft.size, draft.sha256, name, draft.content_type)


def give_item(request: HttpRequest, item: BundleItem) -> HttpResponseBase:
    return _give(request, item.file, item.size, item.sha256, item.file_name, item.content_type)


def give_picture(page: DraftPage) -> FileResponse:
    """A page's picture, which we made ourselves, to be shown in a page."""
    response = FileResponse(page.file.open("rb"), content_type="image/png")
    patch_cache_control(response, private=True, max_age=3600)
    return response


def _give(
    request: HttpRequest, file: FieldFile, size: int, sha256: str, name: str, content_type: str
) -> HttpResponseBase:
    return give(
        request,
        lambda start, stop: _read(file, start, stop),
        size=size,
        etag=sha256,
        name=name,
        content_type=content_type if content_type in SUFFIXES else BYTES,
    )


def _read(file: FieldFile, start: int, stop: int) -> Iterator[bytes]:
    with file.storage.open(file.name, "rb") as opened:
        opened.seek(start)
        while start < stop:
            chunk = opened.read(min(CHUNK, stop - start))
            if not chunk:
                return
            start += len(chunk)
            yield chunk
