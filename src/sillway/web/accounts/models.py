"""Tables of accounts."""

from __future__ import annotations

from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower

from sillway.web.policy import Role


class Accounts(BaseUserManager["Account"]):
    """Finds accounts by name, upper and lower case alike."""

    def get_by_natural_key(self, username: str | None) -> Account:
        """The account of that name."""
        return self.get(name__iexact=username)


class Account(AbstractBaseUser):
    """Somebody who signs in."""

    name = models.CharField(max_length=60, unique=True)
    role = models.CharField(max_length=16, choices=[(r.value, r.value) for r in Role])
    is_active = models.BooleanField(default=True)
    made_at = models.DateTimeField()

    objects: ClassVar[Accounts] = Accounts()
    USERNAME_FIELD = "name"

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(Lower("name"), name="one_name_once")]

    def __str__(self) -> str:
        return self.name


class OneTimeLink(models.Model):
    """A link that lets in once: the first owner, somebody invited, or a new start.

    Attributes:
        digest: hash of the link's secret; the secret itself is kept nowhere.
        account: for a new start, whose.
    """

    digest = models.CharField(max_length=64, unique=True)
    role = models.CharField(max_length=16)
    account = models.ForeignKey(Account, null=True, on_delete=models.CASCADE)
    made_by = models.CharField(max_length=80)
    until = models.DateTimeField()
    used_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.role} until {self.until:%Y-%m-%d}"


class SignedIn(models.Model):
    """One sign-in, so that it can be seen and ended."""

    session = models.CharField(max_length=40, unique=True)
    account = models.ForeignKey(Account, on_delete=models.CASCADE)
    at = models.DateTimeField()
    agent = models.CharField(max_length=200)
    address = models.CharField(max_length=45)

    def __str__(self) -> str:
        return f"{self.account_id} {self.at:%Y-%m-%d}"
