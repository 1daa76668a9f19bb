"""A mail server that is never there."""

from django.core.mail.backends.base import BaseEmailBackend


class Backend(BaseEmailBackend):
    def send_messages(self, messages):
        raise ConnectionRefusedError(111, "Connection refused")
