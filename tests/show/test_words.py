"""The answer as terminal text and as JSON."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

import pytest

from sillway.fit.drive.proof import Leaf
from sillway.fit.drive.proof import Proof as DriveProof
from sillway.fit.drive.scene import PoseBox, Prism, Scene
from sillway.fit.result import Certificate
from sillway.show import words
from sillway.show.json_answer import answer_json, certificate_json, proof_json
from sillway.show.text import short_table


def test_short_table_is_short_and_says_what_counts(case: Any) -> None:
    answer = case[0]
    table = short_table(answer)
    lines = table.splitlines()
    assert len(lines) <= 25
    assert max(map(len, lines)) <= 100
    assert lines[0].startswith(f"{str(answer.verdict).upper()}.")
    assert answer.deciding in table
    for condition in answer.conditions:
        assert condition.who in " ".join(table.split())


def test_short_table_stays_short_with_much_to_say(sample: Any) -> None:
    answer = sample.fits()
    more = tuple(
        dataclasses.replace(answer.checks[0], id=f"check.number.{i}", question="Why? " * 40)
        for i in range(60)
    )
    answer = dataclasses.replace(
        answer, rider="M" * 80, checks=answer.checks + more, conditions=answer.conditions * 9,
        settle=answer.settle * 9, deciding="check.number.3",
    )  # fmt: skip
    lines = short_table(answer).splitlines()
    assert len(lines) <= 27
    assert "check.number.3" in "\n".join(lines)
    assert "more on the sheet" in "\n".join(lines)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        ("fits", "1/2 in (12 mm) left, with every measure at its bad end"),
        ("close_call", "Between -1/4 in (-6 mm) and 1 in (26 mm)"),
        ("does_not_fit", "Short by 13/16 in (21 mm), even with every measure at its good end"),
    ],
)
def test_deciding_margin_in_words(sample: Any, make: str, says: str) -> None:
    assert says in words.deciding_says(getattr(sample, make)())


def test_backing_never_claims_more_than_there_is(sample: Any) -> None:
    assert "certified" in words.backing(sample.fits())
    assert "Proved: 2 cases" in words.backing(sample.does_not_fit())
    assert "certified way nor a proof" in words.backing(sample.close_call())
    bare = dataclasses.replace(sample.does_not_fit(), proof=None)
    assert "Proved" not in words.backing(bare)


def test_reversals_are_counted(sample: Any) -> None:
    path = ((0.0, 0.0, 0.0), (500.0, 0.0, 0.0), (200.0, 0.0, 0.0), (200.0, 0.0, 1.0))
    said = words.moves(Certificate((), (), path, {}, 5.0))
    assert said == "2 straight runs, 1 turn, 1 reversal"


def test_answer_json_keeps_the_contract(case: Any) -> None:
    answer = case[0]
    data = json.loads(json.dumps(answer_json(answer)))
    keys = {"verdict", "conditions", "settle", "checks", "posture", "arrangement"}
    assert keys | {"certificate", "proof", "assumed", "covered"} <= set(data)
    assert data["verdict"] == str(answer.verdict)
    assert (data["certificate"] is None) == (answer.certificate is None)
    assert (data["proof"] is None) == (answer.proof is None)
    wanted = {
        "id", "class", "verdict", "margin", "margin_best", "unit", "needed", "measured",
        "tolerance", "source", "settle", "assumed",
    }  # fmt: skip
    assert len(data["checks"]) == len(answer.checks) > 0
    for check in data["checks"]:
        assert wanted <= set(check)


def test_certificate_json_keeps_the_contract(sample: Any) -> None:
    way = dataclasses.replace(sample.certificate(), arcs={0: (10.0, 20.0)})
    data = json.loads(json.dumps(certificate_json(way)))
    assert data["arcs"] == {"0": [10.0, 20.0]}
    assert data["path"][0] == [-1100.0, 0.0, 0.0]
    assert data["claimed_clearance"] == 29.0
    for prism in (*data["obstacles"], *data["body"]):
        assert len(prism["z"]) == 2
        assert all(len(point) == 2 for point in prism["polygon"])
    assert "arcs" not in certificate_json(sample.certificate())


def test_proof_json_writes_each_drive_proof_whole(sample: Any) -> None:
    square = Prism(((0, 0), (1, 0), (1, 1), (0, 1)), (0, 1), "square")
    here = PoseBox((0, 0), (0, 0), (0, 0))
    scene = Scene((square,), (square,), here, here, ((-9, -9), (9, 9)))
    leaf = Leaf((0, 0, 0), (1, 1, 1), True, 0, 0)
    drive = DriveProof(scene, ((-9, 9), (-9, 9)), 0.0, 1, 1.0, (leaf,), ())
    proof = dataclasses.replace(
        sample.does_not_fit().proof, drive={"place A": drive, "place B": {"kind": "read"}}
    )
    data = json.loads(json.dumps(proof_json(proof)))
    assert [p["covers"] for p in data["proofs"]] == ["place A", "place B"]
    assert data["proofs"][0]["drive"]["leaves"] == [[0, 0, 0, 1, 1, 1, 1, 0, 0]]
    assert data["pinch"]["clearance"] == -21.0
    with pytest.raises(TypeError, match="cannot be a int"):
        proof_json(dataclasses.replace(proof, drive={"place A": 3}))
