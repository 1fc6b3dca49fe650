"""The words of the records: what each field means, for templates, schemas and docs/words.md.

``python -m sillway.records.words`` prints the page.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from pydantic import BaseModel

from sillway.records.base import Record
from sillway.records.fields import FieldOf, Takes, fields_of
from sillway.records.rider import Rider
from sillway.records.van import Van

_HEAD = """# Words

Made from the records by `python -m sillway.records.words`; a test keeps it true.

## Frames

- **Van**: *x* runs forward, *y* to the left, *z* up. The origin is on the cabin floor, on the
  van's centre line, at the rear edge of the floor. Heading 0 looks forward; angles grow
  counter-clockwise as seen from above.
- **Chair**: it is measured with its back against a wall: *from wall* is how far a thing is ahead
  of the chair's rearmost point. Heights are above the floor the chair stands on.
- Kept inside: mm, kg, km, N, rad. Written: `34 1/2 in`, `4' 7-1/4"`, `71.5 cm`, `312 lb`, `9/32`
  for a tread, `1:12` for a slope. A bare number is in the record's `units`.

## How a measure is written

`34 1/2 in`, or `{"value": "34 1/2 in", "tolerance": "1/4 in", "way": "tape"}`, or
`{"low": 34, "high": 35, "way": "reported"}`. On a row sheet: the columns value, tolerance and
way, or `34 to 35`. An outline is its corners, `"0, -30; 100, -30; 100, 30; 0, 30"` or
`[[0, -30], …]`, or a rectangle `{"x": [0, 100], "y": [-30, 30]}`; on a row sheet
`x 0 to 100; y -30 to 30`.

## Words of the house

| word | meaning |
|---|---|
| record | a document kept: van, rider, inspection, offer, sale |
| finding | one observed fact about a van, good or bad |
| check | one question the fit asks |
| margin | how much is left, signed: minus means too little |
| certificate | what backs a yes: a path and a lower bound of its clearance |
| proof | what backs a no: that no path exists, even with every measure at its good end |
| settle | the measurement that would decide a close call |
| sheet | a paper or page issued to somebody |
| claim | something said in a narration |
| stage | where a van stands on its way through the lot |
| way | how a measure was come by: tape, reported, scale ticket, maker's drawing, label, assumed |
| place | a securement place: where a chair may stand, and what holds it there |
| posture | a way the rider can sit, for the ramp only or for the whole ride |
| layer | one slice of chair and rider by height |

"""


@cache
def _words() -> Mapping[str, Mapping[str, str]]:
    text = files("sillway.records").joinpath("words.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def meaning(field: FieldOf) -> str:
    """What a field means, in one sentence.

    Raises:
        KeyError: if words.toml has no word for it, which a test forbids.
    """
    if field.name in Record.model_fields:
        return _words()["Record"][field.name]
    return _words()[field.part][field.name]


def parts_of(model: type[BaseModel]) -> dict[str, tuple[FieldOf, ...]]:
    """The parts of a record, each with its own fields, in the order they are met."""
    found: dict[str, list[FieldOf]] = {}
    for field in fields_of(model):
        of_part = found.setdefault(field.part, [])
        if all(one.name != field.name for one in of_part):
            of_part.append(field)
    return {part: tuple(of_part) for part, of_part in found.items()}


def page() -> str:
    """The page of words, as Markdown."""
    lines = [_HEAD]
    told: set[str] = set()
    for title, model in (("The van record", Van), ("The rider record", Rider)):
        lines.append(f"## {title}\n")
        for part, of_part in parts_of(model).items():
            if part in told:
                continue
            told.add(part)
            lines.append(f"### {part}\n\n| field | meaning | unit or words |\n|---|---|---|")
            lines.extend(_line(field) for field in of_part)
            lines.append("")
    return "\n".join(lines)


def _line(field: FieldOf) -> str:
    unit = field.unit
    if field.takes is Takes.CHOICE:
        unit = ", ".join(field.choices)
    elif field.model is not None:
        unit = field.model.__name__
    elif not unit:
        unit = str(field.takes)
    if field.many:
        unit = f"list of {unit}"
    need = " (required)" if field.required else ""
    return f"| `{field.name}`{need} | {meaning(field)} | {unit} |"


if __name__ == "__main__":
    sys.stdout.write(page())
