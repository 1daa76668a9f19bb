from django.apps import AppConfig


class BillingConfig(AppConfig):
    name = "billing"

    def ready(self) -> None:
        from billing.desk import hang_up

        hang_up()
