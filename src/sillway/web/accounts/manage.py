"""The owner's list of accounts: invite, change a role, close, let in anew."""

from __future__ import annotations

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from sillway.store.by import trace
from sillway.web.access import act, by
from sillway.web.accounts import sessions
from sillway.web.accounts.forms import InviteForm
from sillway.web.accounts.links import make_link
from sillway.web.accounts.models import Account
from sillway.web.policy import Role


@act("account.manage")
@require_http_methods(["GET"])
def accounts(request: HttpRequest) -> HttpResponse:
    """Everybody, and the form to invite."""
    rows = Account.objects.order_by("-is_active", "name")
    return render(request, "accounts/accounts.html", {"rows": rows, "form": InviteForm()})


@act("account.manage")
@require_POST
def invite(request: HttpRequest) -> HttpResponse:
    """Make a link for somebody new and show it once."""
    form = InviteForm(request.POST)
    if not form.is_valid():
        rows = Account.objects.order_by("-is_active", "name")
        return render(request, "accounts/accounts.html", {"rows": rows, "form": form}, status=422)
    return _show(request, make_link(Role(form.cleaned_data["role"]), by(request)))


@act("account.manage")
@require_POST
def change(request: HttpRequest, number: int) -> HttpResponse:
    """Change one account: ``role``, ``close``, ``open`` or ``link``."""
    account = Account.objects.filter(pk=number).first()
    if account is None:
        raise Http404
    doing = request.POST.get("do", "")
    if doing == "link":
        return _show(request, make_link(Role(account.role), by(request), account=account))
    with transaction.atomic():
        if doing == "role":
            form = InviteForm(request.POST)
            if not form.is_valid():
                raise Http404
            account.role = form.cleaned_data["role"]
        elif doing in ("close", "open"):
            account.is_active = doing == "open"
        else:
            raise Http404
        owners = Account.objects.filter(role=Role.OWNER, is_active=True).exclude(pk=number)
        if not owners.exists() and (account.role != Role.OWNER or not account.is_active):
            messages.error(request, _("This is the last owner; make another one first."))
            return redirect("accounts:accounts")
        account.save()
        sessions.end_all(account, keep=request.session.session_key)
        trace(f"account.{doing}", by(request), subject=account.name, says=account.role)
    messages.success(request, _("%(name)s: changed.") % {"name": account.name})
    return redirect("accounts:accounts")


def _show(request: HttpRequest, secret: str) -> HttpResponse:
    url = request.build_absolute_uri(reverse("accounts:begin", args=[secret]))
    return render(request, "accounts/link.html", {"url": url})
