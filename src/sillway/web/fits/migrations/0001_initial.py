"""The table of answers."""

from __future__ import annotations

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    """One answer for each pair."""

    initial = True

    dependencies: ClassVar = [("store", "0001_initial")]

    operations: ClassVar = [
        migrations.CreateModel(
            name="Fitted",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("van_revision", models.PositiveIntegerField()),
                ("rider_revision", models.PositiveIntegerField()),
                ("on", models.DateField()),
                ("rules_of", models.DateField()),
                ("made_with", models.CharField(max_length=80)),
                ("in_time", models.BooleanField(default=True)),
                ("row", models.BinaryField()),
                ("sheet", models.BinaryField(null=True)),
                ("made_at", models.DateTimeField()),
                (
                    "rider",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="fits_of_rider",
                        to="store.record",
                    ),
                ),
                (
                    "van",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="fits_of_van",
                        to="store.record",
                    ),
                ),
            ],
        ),
        migrations.AddConstraint(
            model_name="fitted",
            constraint=models.UniqueConstraint(fields=("van", "rider"), name="one_answer_a_pair"),
        ),
    ]
