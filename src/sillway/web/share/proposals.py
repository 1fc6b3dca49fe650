"""What a guest entered: kept sealed, shown to the guest alone until it is sent, then proposed."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.db import transaction

from sillway.errors import BadInput
from sillway.store import keys
from sillway.store.by import By, trace
from sillway.store.clock import now
from sillway.store.limits import limit
from sillway.store.records import Read, Saved, read_record, save_record
from sillway.web.measure import answers, paths
from sillway.web.measure.keep import NOT_MEASURED
from sillway.web.measure.steps import Step, Words, walk
from sillway.web.share.models import Proposal, ShareLink


@dataclass(frozen=True, slots=True)
class Entered:
    """What a guest entered.

    Attributes:
        doc: the answers, where they would stand in a rider's record.
        reasons: steps that could not be measured, and why.
        who: what the guest calls himself.
    """

    doc: dict[str, Any]
    reasons: dict[str, str]
    who: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """One step as sent in, beside what the record says now.

    Attributes:
        step: the step.
        rows: its questions with the record's answer and the one sent in.
        clash: the record says something else already, so somebody must choose.
    """

    step: Step
    rows: tuple[tuple[Words, str, str], ...]
    clash: bool


class Decided(RuntimeError):  # noqa: N818 - named for what it tells the reader
    """Somebody has decided on this proposal already."""


def current(link: ShareLink) -> Proposal | None:
    """The newest proposal of a link that nobody has decided on, if there is one."""
    states = (Proposal.State.DRAFT, Proposal.State.SENT)
    return link.proposals.filter(state__in=states).order_by("-pk").first()


def entered(proposal: Proposal) -> Entered:
    """What stands in a proposal. Raises Destroyed if the person asked for deletion."""
    key = keys.person_key(proposal.link.rider.person)
    plain = keys.unseal(key, bytes(proposal.body), _about(proposal.link))
    return Entered(**json.loads(plain))


def change(link: ShareLink, how: Callable[[Entered], Entered]) -> Proposal:
    """Change the draft of a link in one go; whoever comes second starts from what the first kept.

    Raises:
        Decided: it was sent; it must be taken back first.
        BadInput: it grew too large.
    """
    with transaction.atomic():
        proposal = current(link)
        if proposal is not None and proposal.state != Proposal.State.DRAFT:
            raise Decided
        start = entered(proposal) if proposal else Entered({}, {})
        body = _sealed(link, how(start))
        if proposal is None:
            return Proposal.objects.create(link=link, body=body, made_at=now())
        proposal.body = body
        proposal.save()
    return proposal


def send(link: ShareLink, who: str) -> Proposal:
    """Propose what was entered. Raises Decided if there is nothing left to send."""
    with transaction.atomic():
        proposal = current(link)
        if proposal is None or proposal.state != Proposal.State.DRAFT:
            raise Decided
        proposal.body = _sealed(link, replace(entered(proposal), who=who))
        proposal.state, proposal.sent_at = Proposal.State.SENT, now()
        proposal.save()
        trace("share.sent", By("guest", "link"), subject=f"record {link.rider_id}")
    return proposal


def take_back(link: ShareLink) -> None:
    """Make a sent proposal a draft again, unless somebody has decided."""
    with transaction.atomic():
        proposal = current(link)
        if proposal is None:
            raise Decided
        proposal.state, proposal.sent_at = Proposal.State.DRAFT, None
        proposal.save()


def changes(sent: Entered, read: Read) -> list[Change]:
    """What accepting would change in a record, step by step; what is the same is left out."""
    found = []
    metric = read.content.doc.get("units") == "metric"
    for step in walk("rider").steps:
        rows, clash, news = [], False, False
        for ask in step.asks:
            mine, theirs = paths.get(sent.doc, ask.path), paths.get(read.content.doc, ask.path)
            if mine is None:
                continue
            news = news or mine != theirs
            alike = answers.alike(ask, mine, theirs, metric=metric)
            clash = clash or (theirs is not None and not alike)
            rows.append((ask.label, answers.said(ask, theirs), answers.said(ask, mine)))
        if news:
            found.append(Change(step, tuple(rows), clash))
    return found


def accept(proposal: Proposal, take: Mapping[str, bool], base: int, by: By) -> Saved:
    """Write the chosen steps into the rider's record, as read at revision ``base``.

    Args:
        take: step → whether it is taken; a step that is not named is left.
    Raises:
        Decided, BadInput, Conflict, Destroyed.
    """
    with transaction.atomic():
        proposal = Proposal.objects.select_related("link__rider").get(pk=proposal.pk)
        if proposal.state != Proposal.State.SENT:
            raise Decided
        sent = entered(proposal)
        read = read_record(proposal.link.rider_id, base)
        doc = copy.deepcopy(read.content.doc)
        reasons = dict(read.content.card.get(NOT_MEASURED, {}))
        for step in walk("rider").steps:
            if take.get(step.id):
                _take(step, sent.doc, doc)
                reasons.pop(step.id, None)
            elif step.id in sent.reasons and all(paths.get(doc, a.path) is None for a in step.asks):
                reasons[step.id] = sent.reasons[step.id]
        note = f"sent in by {sent.who}" if sent.who else "sent in by link"
        card = {**read.content.card, NOT_MEASURED: reasons}
        content = replace(read.content, doc=doc, card=card, note=note)
        saved = save_record(proposal.link.rider_id, content, by, base=base)
        _decide(proposal, Proposal.State.ACCEPTED, by)
    return saved


def decline(proposal: Proposal, by: By) -> None:
    """Leave the record as it is. Raises Decided."""
    with transaction.atomic():
        proposal = Proposal.objects.get(pk=proposal.pk)
        if proposal.state != Proposal.State.SENT:
            raise Decided
        _decide(proposal, Proposal.State.DECLINED, by)


def _decide(proposal: Proposal, state: Proposal.State, by: By) -> None:
    proposal.state, proposal.decided_at, proposal.decided_by = state, now(), by.name
    proposal.save()
    trace(f"share.{state}", by, subject=f"proposal {proposal.pk}")


def _take(step: Step, sent: Mapping[str, Any], doc: dict[str, Any]) -> None:
    given = [(ask.path, paths.get(sent, ask.path)) for ask in step.asks]
    for path, value in (*given, *((path, paths.get(sent, path)) for path in step.fixed)):
        if value is not None:
            paths.put(doc, path, value)


def _sealed(link: ShareLink, what: Entered) -> bytes:
    plain = json.dumps(
        {"doc": what.doc, "reasons": what.reasons, "who": what.who}, ensure_ascii=False
    ).encode()
    most = limit("record.bytes")
    if len(plain) > most:
        raise BadInput("answers", f"{len(plain):,} bytes", f"at most {most:,} bytes")
    return keys.seal(keys.person_key(link.rider.person), plain, _about(link))


def _about(link: ShareLink) -> str:
    return f"proposal of link {link.pk}"
