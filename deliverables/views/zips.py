"""A bundle's files as one ZIP, made while it is sent; nothing is compressed, so its length is known beforehand."""

import hashlib
from collections.abc import Iterator, Sequence

from django.http import HttpRequest, HttpResponseBase
from zipstream import ZipStream

from deliverables.models import BundleItem

from .ranges import give


def give_zip(request: HttpRequest, items: Sequence[BundleItem], name: str) -> HttpResponseBase:
    """One archive of the files of `items`.

    A part is made by making the whole again and leaving out what comes before it. That needs the same bytes each
    time, times of change included, so it is offered only where the files lie on a disk.
    """
    archive, on_disk = _archive(items)
    return give(
        request,
        lambda start, stop: _part(archive, start, stop),
        size=len(archive),
        etag=_etag(archive, items),
        name=name,
        content_type="application/zip",
        resumable=on_disk,
    )


def _archive(items: Sequence[BundleItem]) -> tuple[ZipStream, bool]:
    archive, on_disk = ZipStream(sized=True), True
    for item in items:
        try:
            archive.add_path(item.file.path, item.file_name)
        except NotImplementedError:
            archive.add(item.file.chunks(), item.file_name, size=item.size)
            on_disk = False
    return archive, on_disk


def _etag(archive: ZipStream, items: Sequence[BundleItem]) -> str:
    contents = [f"{item.file_name}\n{item.sha256}" for item in items]
    return hashlib.sha256("\n".join([str(archive.last_modified), *contents]).encode()).hexdigest()


def _part(archive: ZipStream, start: int, stop: int) -> Iterator[bytes]:
    at = 0
    for chunk in archive:
        piece = chunk[max(0, start - at) : max(0, stop - at)]
        at += len(chunk)
        if piece:
            yield piece
        if at >= stop:
            return
