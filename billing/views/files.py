"""Files that pages give out."""

from django.http import HttpResponse


def pdf(content: bytes, name: str) -> HttpResponse:
    """A paper, shown in the browser under its number; never kept by a cache between."""
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    response["Cache-Control"] = "private, no-store"
    return response
