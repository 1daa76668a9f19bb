"""Keys of forms that have been sent, so that sending one again changes nothing."""

from django.db import models


class OnceKey(models.Model):
    key = models.UUIDField(primary_key=True)
    used_at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return str(self.key)
