"""What stands on a fit sheet, as plain text and drawings; the page and the PDF both set this."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import asdict, dataclass
from typing import Any, Final

from sillway.fit.check import Check, CheckClass
from sillway.fit.known import Known
from sillway.fit.result import FitAnswer
from sillway.records.rider import Rider
from sillway.records.van import Van
from sillway.show import words
from sillway.show.draw import motion
from sillway.show.draw.base import key_frame
from sillway.show.draw.frame import scale_for
from sillway.show.draw.plan import plan, plan_scale
from sillway.show.draw.side import side
from sillway.show.draw.svg import Drawing, safe
from sillway.units import Shown, show_length

# Small plans of the key frames, as one in how many, against the large plan's scale.
_KEY_SHRINK: Final = 2.4
_MOST_SIDES: Final = 4


@dataclass(frozen=True, slots=True)
class Row:
    """One check as it is printed."""

    id: str
    question: str
    finding: str
    margin: str
    needed: str
    measured: str
    tolerance: str
    source: str
    note: str
    decides: bool


@dataclass(frozen=True, slots=True)
class Group:
    """All checks of one class."""

    name: str
    says: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing with its caption and the words that stand in for it."""

    key: str
    svg: str
    page_svg: str
    caption: str
    alt: str
    width_mm: float


@dataclass(frozen=True, slots=True)
class Content:
    """A whole fit sheet."""

    title: str
    number: str
    on: str
    van: str
    rider: str
    posture: str
    invented: bool
    verdict: str
    decided: str
    backing: str
    conditions: tuple[tuple[str, str, str], ...]
    settle: tuple[tuple[str, str, str], ...]
    changes: tuple[str, ...]
    seating: tuple[tuple[str, str], ...]
    drawings: tuple[Figure, ...]
    key_frames: tuple[Figure, ...]
    narrowest: str
    groups: tuple[Group, ...]
    assumed: tuple[tuple[str, str, str], ...]
    covered: tuple[tuple[str, str], ...]
    spare: tuple[str, ...]
    cautions: tuple[str, ...]

    def plain(self) -> dict[str, Any]:
        """As nested lists and dictionaries of text."""
        return asdict(self)


def fit_content(answer: FitAnswer, van: Van, rider: Rider, number: str | None = None) -> Content:
    """All that the sheet says.

    Args:
        number: the sheet's number; without it one is made from what the sheet says.
    Raises:
        RuleError: if no cautions are in force on the day of the answer.
    """
    number = number or sheet_number(answer, van, rider)
    proof = answer.proof
    reasons = (*proof.reasons, *[""] * len(proof.covered)) if proof else ()
    return Content(
        title=f"Fit sheet: {safe(answer.rider)} in {safe(answer.van)}",
        number=number,
        on=answer.on.isoformat(),
        van=safe(answer.van),
        rider=safe(answer.rider),
        posture=safe(answer.posture),
        invented=van.invented or rider.invented,
        verdict=words.headline(answer),
        decided=safe(words.deciding_says(answer)),
        backing=safe(words.backing(answer)),
        conditions=tuple((safe(c.says), safe(c.who), safe(c.check_id)) for c in answer.conditions),
        settle=tuple((safe(s.measure), safe(s.how), safe(s.now)) for s in answer.settle),
        changes=tuple(map(safe, answer.arrangement.changes())) if answer.arrangement else (),
        seating=tuple(
            (safe(who), safe(where))
            for who, where in (
                words.seating(answer.arrangement, answer.rider) if answer.arrangement else ()
            )
        ),
        drawings=_drawings(answer, van, rider, number),
        key_frames=_key_frames(answer, van),
        narrowest=safe(_narrowest(answer)),
        groups=_groups(answer),
        assumed=tuple(_assumed(known) for known in _once(answer.assumed)),
        covered=tuple(
            (safe(case), safe(why)) for case, why in zip(proof.covered, reasons, strict=False)
        )
        if proof
        else (),
        spare=tuple(map(safe, answer.spare)),
        cautions=tuple(words.cautions(answer)),
    )


def sheet_number(answer: FitAnswer, van: Van, rider: Rider) -> str:
    """A number that is the same for the same answer and records, and for no others."""
    said = json.dumps(
        [repr(answer), van.model_dump(mode="json"), rider.model_dump(mode="json")], sort_keys=True
    )
    digest = hashlib.sha256(said.encode("utf-8", "replace")).hexdigest().upper()
    return f"F-{digest[:4]}-{digest[4:8]}"


def _drawings(answer: FitAnswer, van: Van, rider: Rider, number: str) -> tuple[Figure, ...]:
    drawn = [(plan(answer, van, rider, number), "Plan, front of the van up.")]
    drawn += [
        (side(answer, view, van, rider, nth=i, number=number), safe(view.says))
        for i, view in enumerate(answer.side_views[:_MOST_SIDES], start=1)
    ]
    return tuple(figure(d, caption) for d, caption in drawn)


def _key_frames(answer: FitAnswer, van: Van) -> tuple[Figure, ...]:
    if answer.certificate is None or len(answer.certificate.path) < 2:
        return ()
    scale = scale_for(plan_scale(van) * _KEY_SHRINK * 100, 100.0)
    return tuple(
        figure(key_frame(answer, van, key, scale), f"{key.number}. {key.says}")
        for key in motion.keys(answer.certificate)
    )


def figure(d: Drawing, caption: str) -> Figure:
    """A drawing as it goes on a sheet."""
    alt = f"{safe(d.title)}. {safe(d.says)}"
    caption = " ".join((caption, *map(safe, d.notes)))
    return Figure(d.key, d.svg(), d.svg(standalone=False), caption, alt, d.width_mm)


def _narrowest(answer: FitAnswer) -> str:
    spot = answer.certificate.narrowest if answer.certificate else None
    if spot is None:
        return ""
    size = show_length(spot.clearance_mm)
    return f"Narrowest spot on the way: {size} between {spot.body} and {spot.obstacle}."


def _groups(answer: FitAnswer) -> tuple[Group, ...]:
    out = []
    for check_class in CheckClass:
        rows = [_row(c, answer.deciding) for c in answer.checks if c.check_class is check_class]
        if rows:
            out.append(Group(*words.CLASS_SAYS[check_class], tuple(rows)))
    return tuple(out)


def _row(check: Check, deciding: str) -> Row:
    notes = [check.note] if check.note else []
    notes += [f"To settle: {s.how}." for s in check.settle]
    if check.who:
        notes.append(f"Settled by: {check.who}.")
    if check.assumed:
        notes.append("Rests on assumed: " + ", ".join(k.name for k in check.assumed) + ".")
    return Row(
        safe(check.id),
        safe(check.question),
        str(check.finding),
        words.margin_says(check),
        _breakable(check.needed),
        _breakable(check.measured),
        _breakable(check.tolerance) or "none used",
        safe(check.source),
        safe(" ".join(notes)),
        check.id == deciding,
    )


def _breakable(text: str) -> str:
    """The text, with places to break names such as ``ramp.width_at_hinge`` in a narrow column."""
    return re.sub(r"(?<=[._\]])(?=[A-Za-z\[])", "\u200b", safe(text))


def _assumed(known: Known) -> tuple[str, str, str]:
    show = Shown(known.unit)
    return (safe(known.name), f"{show(known.low)} to {show(known.high)}", safe(known.source))


def _once(assumed: tuple[Known, ...]) -> list[Known]:
    return list({known.name: known for known in assumed}.values())
