"""Tables. Only the verbs beside this file write them; pages read through those too."""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class Record(models.Model):
    """A document kept: its indexed columns. What it says stands in its newest revision.

    Attributes:
        person: whose key seals it; empty for records that are about no person.
        about: the record it belongs to (an inspection's van).
        version: number of the newest revision.
        title: what to call it in a list; empty when sealed.
        complete: false while fields that it must have are still missing.
        gone_at: when the person asked for deletion; its key is destroyed.
    """

    kind = models.CharField(max_length=16, db_index=True)
    person = models.CharField(max_length=32, blank=True, default="", db_index=True)
    about = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="parts"
    )
    version = models.PositiveIntegerField(default=0)
    stage = models.CharField(max_length=32, blank=True, default="")
    title = models.CharField(max_length=300, blank=True, default="")
    complete = models.BooleanField(default=False)
    invented = models.BooleanField(default=False)
    came_on = models.DateField(null=True, blank=True)
    made_at = models.DateTimeField()
    changed_at = models.DateTimeField()
    gone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["kind", "stage", "-changed_at"])]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}"


class Revision(models.Model):
    """One change: who, when, from where, and the whole record after it. Never altered.

    Attributes:
        body: the packed content, sealed under the person's key where there is one.
        undo_of: the revision this one goes back to.
        entry: the sender's own id of this change, so that sending it twice keeps it once.
        digest: hash over this row and the digest before it.
    """

    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    at = models.DateTimeField()
    account = models.BigIntegerField(null=True)
    by_name = models.CharField(max_length=80)
    origin = models.CharField(max_length=40)
    undo_of = models.PositiveIntegerField(null=True)
    entry = models.UUIDField(null=True, unique=True)
    body = models.BinaryField()
    digest = models.BinaryField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["record", "number"], name="one_number_once")
        ]

    def __str__(self) -> str:
        return f"{self.record_id}.{self.number}"


class Term(models.Model):
    """A word a record is found by: plain, or a keyed hash where the record is sealed."""

    record = models.ForeignKey(Record, on_delete=models.CASCADE, related_name="terms")
    word = models.CharField(max_length=64)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["word", "record"])]

    def __str__(self) -> str:
        return self.word


class Figure(models.Model):
    """A measured figure a record is found by. [mm, kg, km]"""

    record = models.ForeignKey(Record, on_delete=models.CASCADE, related_name="figures")
    name = models.CharField(max_length=40)
    value = models.FloatField()

    class Meta:
        indexes: ClassVar = [models.Index(fields=["name", "value"])]

    def __str__(self) -> str:
        return f"{self.name} {self.value:g}"


class Trace(models.Model):
    """A business act that is not a change of a record. Never altered."""

    verb = models.CharField(max_length=60)
    at = models.DateTimeField()
    account = models.BigIntegerField(null=True)
    by_name = models.CharField(max_length=80)
    origin = models.CharField(max_length=40)
    subject = models.CharField(max_length=120, blank=True, default="")
    says = models.CharField(max_length=400, blank=True, default="")

    def __str__(self) -> str:
        return f"{self.verb} {self.subject}"


class DestroyedPerson(models.Model):
    """A person whose key was destroyed on request."""

    person = models.CharField(max_length=32, primary_key=True)
    at = models.DateTimeField()
    done_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.person


class RingCopy(models.Model):
    """Where a copy of the persons' keys was put by a backup; a destroyed key leaves it too."""

    path = models.CharField(max_length=1000, unique=True)
    written_at = models.DateTimeField()
    data_path = models.CharField(max_length=1000)
    owes = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.path


class Photo(models.Model):
    """A photo as kept, named by the hash of its content."""

    digest = models.CharField(max_length=64, primary_key=True)
    person = models.CharField(max_length=32, blank=True, default="", db_index=True)
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    size_bytes = models.PositiveIntegerField()
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.digest


class PhotoUse(models.Model):
    """A photo shown with a record. Taking it away hides it; it is not lost."""

    record = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="photo_uses")
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, related_name="uses")
    shows = models.CharField(max_length=40, blank=True, default="")
    at = models.DateTimeField()
    account = models.BigIntegerField(null=True)
    by_name = models.CharField(max_length=80)
    entry = models.UUIDField(null=True, unique=True)
    hidden_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.record_id}: {self.photo_id}"


class Job(models.Model):
    """Long work, kept so that a restart loses none."""

    class State(models.TextChoices):
        """Where it stands."""

        WAITING = "waiting"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"
        CANCELLED = "cancelled"

    task = models.CharField(max_length=60)
    args = models.JSONField(default=dict)
    state = models.CharField(max_length=12, choices=State, default=State.WAITING, db_index=True)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    says = models.CharField(max_length=300, blank=True, default="")
    result = models.JSONField(null=True)
    kept = models.JSONField(null=True)
    tries = models.PositiveIntegerField(default=0)
    cancel_asked = models.BooleanField(default=False)
    account = models.BigIntegerField(null=True)
    by_name = models.CharField(max_length=80)
    asked_at = models.DateTimeField()
    begun_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    leased_until = models.DateTimeField(null=True)
    runner = models.CharField(max_length=80, blank=True, default="")

    def __str__(self) -> str:
        return f"{self.task} {self.pk}"


class Rate(models.Model):
    """How often a key did something in one window of time."""

    key = models.CharField(max_length=80)
    window = models.BigIntegerField()
    count = models.PositiveIntegerField(default=0)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["key", "window"], name="one_window_once")
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.count}"
