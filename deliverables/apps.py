from django.apps import AppConfig


class DeliverablesConfig(AppConfig):
    name = "deliverables"
