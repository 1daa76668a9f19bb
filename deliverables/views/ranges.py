"""Giving a file out whole or in part (RFC 9110 §14), so that a broken download goes on where it stopped."""

import re
from collections.abc import Callable, Iterator

from django.http import HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.utils.http import content_disposition_header

ONE_RANGE = re.compile(r"bytes=(\d*)-(\d*)", re.ASCII)
MOST_DIGITS = 18

Chunks = Callable[[int, int], Iterator[bytes]]
"""The bytes from a first up to, not including, a last."""


class NotSatisfiable(ValueError):
    """The range begins behind the end."""


def asked_range(header: str, size: int) -> tuple[int, int] | None:
    """The half-open range asked for, or None for the whole; raises `NotSatisfiable`.

    Several ranges, other units and bad syntax are answered with the whole, as §14.2 allows.
    """
    found = ONE_RANGE.fullmatch(header.strip())
    if not found or found.groups() == ("", "") or max(map(len, found.groups())) > MOST_DIGITS:
        return None
    first, last = found.groups()
    if not first:
        return _last_bytes(int(last), size)
    start = int(first)
    if last and int(last) < start:
        return None
    if start >= size:
        raise NotSatisfiable
    return start, min(int(last) + 1, size) if last else size


def _last_bytes(count: int, size: int) -> tuple[int, int]:
    if count == 0 or size == 0:
        raise NotSatisfiable
    return max(0, size - count), size


def begins_at_start(request: HttpRequest) -> bool:
    """Whether this is the first request of a download, not its continuation."""
    header = request.headers.get("Range", "")
    return not header or header.strip().startswith("bytes=0-")


def give(
    request: HttpRequest, chunks: Chunks, *, size: int, etag: str, name: str, content_type: str, resumable: bool = True
) -> HttpResponseBase:
    """An attachment called `name`; a part of it where the request asks for one and still means the same file."""
    headers = {
        "ETag": f'"{etag}"',
        "Content-Disposition": content_disposition_header(as_attachment=True, filename=name),
        "Cache-Control": "private, no-cache",
        "X-Content-Type-Options": "nosniff",
        "Accept-Ranges": "bytes" if resumable else "none",
    }
    try:
        part = asked_range(request.headers.get("Range", ""), size) if resumable and _same_file(request, etag) else None
    except NotSatisfiable:
        return HttpResponse(status=416, headers={"Content-Range": f"bytes */{size}"})
    start, stop = part or (0, size)
    headers["Content-Length"] = str(stop - start)
    if part:
        headers["Content-Range"] = f"bytes {start}-{stop - 1}/{size}"
    return StreamingHttpResponse(
        chunks(start, stop), status=206 if part else 200, content_type=content_type, headers=headers
    )


def _same_file(request: HttpRequest, etag: str) -> bool:
    """RFC 9110 §13.1.5: a range with If-Range counts only while the file is still the one begun."""
    return request.headers.get("If-Range", f'"{etag}"') == f'"{etag}"'
