"""What the pages with an upload share."""

from django.http import HttpResponse


def shown_again(response: HttpResponse) -> HttpResponse:
    """A form shown again keeps the address of its page, which can be loaded anew; the button's own cannot."""
    response["HX-Push-Url"] = "false"
    return response
