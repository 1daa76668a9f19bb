from django.apps import AppConfig


class DeliverablesConfig(AppConfig):
    name = "deliverables"

    def ready(self) -> None:
        from deliverables.desk import hang_up

        hang_up()
