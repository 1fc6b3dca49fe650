"""The table of answers, one for each pair of rider and van: the last one that was worked out."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from sillway.store.models import Record


class Fitted(models.Model):
    """An answer as kept. What it says is sealed under the rider's key.

    Attributes:
        van_revision, rider_revision: what it was worked out from.
        on: the day it was worked out for.
        rules_of: the last day up to then on which any rule changed.
        made_with: which rules and which version.
        in_time: false where the time allowed ran out before the search ended.
        row: what a list needs, sealed.
        sheet: the whole sheet with its playback, sealed; none where only the row was wanted.
    """

    van = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="fits_of_van")
    rider = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="fits_of_rider")
    van_revision = models.PositiveIntegerField()
    rider_revision = models.PositiveIntegerField()
    on = models.DateField()
    rules_of = models.DateField()
    made_with = models.CharField(max_length=80)
    in_time = models.BooleanField(default=True)
    row = models.BinaryField()
    sheet = models.BinaryField(null=True)
    made_at = models.DateTimeField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["van", "rider"], name="one_answer_a_pair")
        ]

    def __str__(self) -> str:
        return f"van {self.van_id}, rider {self.rider_id}"
