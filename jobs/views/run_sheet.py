from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from jobs.models import Shoot


@require_GET
def run_sheet(request: HttpRequest, number: str) -> HttpResponse:
    """The day's one sheet for the crew, as a PDF."""
    from jobs.actions.run_sheets import run_sheet as drawn

    shoot = get_object_or_404(Shoot.objects.with_people(), number=number)
    headers = {
        "Content-Disposition": f'inline; filename="{number}-run-sheet.pdf"',
        "Cache-Control": "private, no-store",
    }
    return HttpResponse(drawn(shoot), content_type="application/pdf", headers=headers)
