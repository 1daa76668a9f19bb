"""How people come in: by invitation only."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class ClosedDoor(DefaultAccountAdapter):
    """Nobody makes an account for themselves; the owner invites."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False
