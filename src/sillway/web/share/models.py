"""Links, and what was sent in by them."""

from __future__ import annotations

from django.db import models

from sillway.store.models import Record


class ShareLink(models.Model):
    """A link for one rider. Its secret is kept nowhere, only the secret's hash.

    Attributes:
        digest: hash of the secret.
        rider: whose chair is measured.
        until: when it stops holding by itself.
        revoked_at: when somebody at the lot ended it.
    """

    digest = models.CharField(max_length=64, unique=True)
    rider = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="share_links")
    language = models.CharField(max_length=2, default="en")
    account = models.BigIntegerField(null=True)
    by_name = models.CharField(max_length=80)
    made_at = models.DateTimeField()
    until = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"link {self.pk} for record {self.rider_id}"


class Proposal(models.Model):
    """What one link's guest entered.

    Attributes:
        body: the answers, sealed under the rider's key.
    """

    class State(models.TextChoices):
        """Where it stands."""

        DRAFT = "draft"
        SENT = "sent"
        ACCEPTED = "accepted"
        DECLINED = "declined"

    link = models.ForeignKey(ShareLink, on_delete=models.PROTECT, related_name="proposals")
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT, db_index=True)
    body = models.BinaryField()
    made_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True)
    decided_at = models.DateTimeField(null=True)
    decided_by = models.CharField(max_length=80, blank=True, default="")

    def __str__(self) -> str:
        return f"proposal {self.pk}, {self.state}"
