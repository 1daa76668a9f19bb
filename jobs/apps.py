from django.apps import AppConfig
from django.db.models.signals import post_migrate


class JobsConfig(AppConfig):
    name = "jobs"

    def ready(self) -> None:
        from jobs.desk import hang_up
        from jobs.guards import install

        hang_up()
        post_migrate.connect(install, sender=self)
