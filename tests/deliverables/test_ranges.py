"""Parts of a file, as RFC 9110 §14 asks for them."""

from datetime import UTC, datetime

import pytest
from django.test import RequestFactory
from hypothesis import given
from hypothesis import strategies as st

from deliverables.views.ranges import NotSatisfiable, asked_range, begins_at_start, give

CONTENT = bytes(range(256)) * 4


@pytest.mark.parametrize(
    ("header", "found"),
    [
        # RFC 9110 §14.1.2, for a representation of 10000 bytes
        ("bytes=0-499", (0, 500)),
        ("bytes=500-999", (500, 1000)),
        ("bytes=-500", (9500, 10000)),
        ("bytes=9500-", (9500, 10000)),
        # §14.1.2: a last position at or beyond the end means the end; a longer suffix means the whole
        ("bytes=9999-20000", (9999, 10000)),
        ("bytes=-20000", (0, 10000)),
        # §14.2: several ranges, unknown units and invalid ranges may be ignored
        ("bytes=0-0,-1", None),
        ("lines=1-2", None),
        ("bytes=500-499", None),
        ("bytes=-", None),
        ("bytes=a-b", None),
        ("bytes=١-٢", None),
        ("", None),
        ("bytes=" + "9" * 400 + "-", None),
    ],
)
def test_ranges_of_the_standard(header, found):
    assert asked_range(header, 10000) == found


@pytest.mark.parametrize("header", ["bytes=10000-", "bytes=10000-10001", "bytes=-0"])
def test_a_range_behind_the_end_cannot_be_satisfied(header):
    # RFC 9110 §15.5.17
    with pytest.raises(NotSatisfiable):
        asked_range(header, 10000)


@given(st.integers(0, 2000), st.integers(0, 2000), st.integers(1, 1500))
def test_what_is_given_is_what_python_slices(first, last, size):
    try:
        found = asked_range(f"bytes={first}-{last}", size)
    except NotSatisfiable:
        assert first >= size
        return
    if found is None:
        assert last < first
    else:
        assert list(range(size))[slice(*found)] == [at for at in range(size) if first <= at <= last]


def answer(**headers):
    request = RequestFactory().get("/", headers=headers)

    def chunks(start, stop):
        yield CONTENT[start:stop]

    return give(request, chunks, size=len(CONTENT), etag="abc", name="plan.pdf", content_type="application/pdf")


def body(response):
    return b"".join(response.streaming_content)


def test_the_whole_is_given_with_its_length_as_an_attachment():
    response = answer()
    assert response.status_code == 200
    assert body(response) == CONTENT
    assert response["Content-Length"] == "1024"
    assert response["Content-Disposition"] == 'attachment; filename="plan.pdf"'
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Accept-Ranges"] == "bytes"


def test_a_part_is_given_with_its_place():
    response = answer(Range="bytes=10-19")
    assert (response.status_code, body(response)) == (206, CONTENT[10:20])
    # RFC 9110 §14.4
    assert response["Content-Range"] == "bytes 10-19/1024"
    assert response["Content-Length"] == "10"


def test_an_impossible_part_is_416_with_the_length():
    response = answer(Range="bytes=5000-")
    assert response.status_code == 416
    assert response["Content-Range"] == "bytes */1024"


def test_a_part_of_another_file_is_answered_with_the_whole():
    # RFC 9110 §13.1.5
    assert answer(Range="bytes=10-19", **{"If-Range": '"other"'}).status_code == 200
    assert answer(Range="bytes=10-19", **{"If-Range": '"abc"'}).status_code == 206
    date = datetime(2027, 1, 1, tzinfo=UTC).strftime("%a, %d %b %Y %H:%M:%S GMT")
    assert answer(Range="bytes=10-19", **{"If-Range": date}).status_code == 200


@pytest.mark.parametrize(
    ("header", "begins"), [("", True), ("bytes=0-", True), ("bytes=0-99", True), ("bytes=1-", False)]
)
def test_a_continuation_is_not_a_beginning(header, begins):
    assert begins_at_start(RequestFactory().get("/", headers={"Range": header} if header else {})) is begins
