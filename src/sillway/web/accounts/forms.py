"""Forms of the door."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth import password_validation
from django.utils.translation import gettext_lazy as _

from sillway.store.limits import limit
from sillway.web.accounts.models import Account
from sillway.web.policy import Role


class SignInForm(forms.Form):
    """Name and password."""

    name = forms.CharField(
        label=_("Name"),
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    password = forms.CharField(
        label=_("Password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class CodeForm(forms.Form):
    """A code of the second factor, or one of the recovery codes."""

    code = forms.CharField(
        label=_("Code"),
        max_length=20,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "text"}),
    )

    def clean_code(self) -> str:
        """The code without the spaces people copy along."""
        return "".join(str(self.cleaned_data["code"]).split())


class NewPasswordForm(forms.Form):
    """A new password, twice."""

    password = forms.CharField(
        label=_("Password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label=_("The same password again"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, account: Account, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.account = account
        self.fields["password"].help_text = _("At least %(n)d characters; a sentence is best.") % {
            "n": limit("sign_in.password_length")
        }

    def clean(self) -> dict[str, Any]:
        """Both alike, and not easily guessed."""
        given = super().clean() or {}
        password, again = given.get("password"), given.get("again")
        if password and again and password != again:
            self.add_error("again", _("The two passwords differ."))
        elif password:
            try:
                password_validation.validate_password(password, self.account)
            except forms.ValidationError as error:
                self.add_error("password", error)
        return given


class NewAccountForm(NewPasswordForm):
    """A name too, for somebody new."""

    name = forms.CharField(
        label=_("Your name here"),
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "username"}),
    )
    field_order = ("name", "password", "again")

    def clean_name(self) -> str:
        """A name nobody has."""
        name = " ".join(str(self.cleaned_data["name"]).split())
        if Account.objects.filter(name__iexact=name).exists():
            raise forms.ValidationError(_("Somebody here has this name already."))
        self.account.name = name
        return name


class InviteForm(forms.Form):
    """Whom to invite."""

    role = forms.ChoiceField(
        label=_("Role"),
        choices=[
            (Role.SELLER, _("seller")),
            (Role.MECHANIC, _("mechanic")),
            (Role.BOOKKEEPER, _("book-keeper")),
            (Role.OWNER, _("owner")),
        ],
    )
