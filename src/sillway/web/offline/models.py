"""Entries that arrived from phones."""

from __future__ import annotations

from django.db import models


class Entry(models.Model):
    """One entry that took effect. Written in the same transaction as its effect.

    Attributes:
        key: the phone's own id of the entry.
        digest: keyed hash of what it said, so that one key stands for one entry.
        answer: what the phone was told, and is told again when it asks again.
    """

    key = models.UUIDField(primary_key=True)
    kind = models.CharField(max_length=40)
    account = models.BigIntegerField()
    digest = models.BinaryField()
    answer = models.JSONField(default=dict)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"
