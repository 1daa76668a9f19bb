from django.apps import AppConfig


class OfficeConfig(AppConfig):
    name = "office"

    def ready(self) -> None:
        from office.desk import hang_up

        hang_up()
