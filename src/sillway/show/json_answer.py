"""The answer for scripts: the objects that ``--json`` and ``--certificate`` write."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from sillway.fit.check import Check, Settle
from sillway.fit.drive.scene import Prism
from sillway.fit.known import Known
from sillway.fit.result import Certificate, FitAnswer, Narrowest, OtherCertified, Proof


def answer_json(answer: FitAnswer) -> dict[str, Any]:
    """The whole answer as plain data; lengths in mm, angles in rad unless a unit says otherwise."""
    a = answer.arrangement
    return {
        "verdict": str(answer.verdict),
        "van": answer.van,
        "rider": answer.rider,
        "on": answer.on.isoformat(),
        "deciding": answer.deciding,
        "conditions": [
            {"check": c.check_id, "says": c.says, "who": c.who} for c in answer.conditions
        ],
        "settle": [_settle(s) for s in answer.settle],
        "checks": [_check(check) for check in answer.checks],
        "posture": answer.posture,
        "arrangement": None
        if a is None
        else {
            "place": a.place,
            "place_kind": a.place_kind,
            "direction": a.direction,
            "seats": dict(a.seats),
            "walkers": dict(a.walkers),
            "other_chairs": dict(a.other_chairs),
            "changes": list(a.changes()),
        },
        "certificate": None if answer.certificate is None else certificate_json(answer.certificate),
        "others": [other_json(other) for other in answer.others],
        "proof": None if answer.proof is None else _proof(answer.proof),
        "covered": [] if answer.proof is None else list(answer.proof.covered),
        "assumed": [_known(k) for k in answer.assumed],
        "spare": list(answer.spare),
    }


def certificate_json(certificate: Certificate) -> dict[str, Any]:
    """A certificate as a separate checker reads it, in mm and rad, tolerances applied."""
    out: dict[str, Any] = {
        "obstacles": [prism_json(p) for p in certificate.obstacles],
        "body": [prism_json(p) for p in certificate.body],
        "path": [list(pose) for pose in certificate.path],
        "claimed_clearance": certificate.claimed_clearance_mm,
    }
    if certificate.arcs:
        out["arcs"] = {str(i): list(centre) for i, centre in certificate.arcs.items()}
    if certificate.narrowest is not None:
        out["narrowest"] = _narrowest(certificate.narrowest)
    return out


def other_json(other: OtherCertified) -> dict[str, Any]:
    """Another chair of the party and the certificate of its way."""
    return {
        "name": other.name,
        "place": other.place,
        "pose": list(other.pose),
        "direction": other.direction,
        "order": other.order,
        **certificate_json(other.certificate),
    }


def backing_json(answer: FitAnswer) -> dict[str, Any]:
    """What ``--certificate`` writes of a yes: the main chair's, and those of the other chairs.

    Raises:
        ValueError: if the answer has no certificate.
    """
    if answer.certificate is None:
        raise ValueError(f"no certificate: the answer is {answer.verdict}")
    out = certificate_json(answer.certificate)
    if answer.others:
        out["others"] = [other_json(other) for other in answer.others]
    return out


def proof_json(proof: Proof) -> dict[str, Any]:
    """What ``--proof`` writes: what is covered and why, and each drive proof whole.

    Raises:
        TypeError: if a drive proof is of a kind that cannot be written.
    """
    return {
        **_proof(proof),
        "proofs": [
            {"covers": covers, "drive": _drive_json(drive)} for covers, drive in proof.drive.items()
        ],
    }


def _drive_json(drive: object) -> Any:
    if isinstance(drive, Mapping):
        return dict(drive)
    # Imported here: it brings in the compiled kernel, which an answer without a proof can spare.
    from sillway.fit.drive import proof as written
    from sillway.fit.drive.subdivide import Shut

    if isinstance(drive, written.Proof):
        return json.loads(written.to_json(drive))
    if isinstance(drive, Shut):
        return json.loads(written.to_json(written.prove(drive)))
    raise TypeError(f"a drive proof cannot be a {type(drive).__name__}")


def prism_json(prism: Prism) -> dict[str, Any]:
    """One prism."""
    return {"polygon": [list(p) for p in prism.polygon], "z": list(prism.z), "name": prism.name}


def _check(check: Check) -> dict[str, Any]:
    margin = check.margin
    return {
        "id": check.id,
        "question": check.question,
        "class": str(check.check_class),
        "verdict": str(check.finding),
        "margin": None if margin is None else margin.worst,
        "margin_best": None if margin is None else margin.best,
        "unit": None if margin is None else margin.unit,
        "needed": check.needed,
        "measured": check.measured,
        "tolerance": check.tolerance,
        "source": check.source,
        "settle": [_settle(s) for s in check.settle],
        "assumed": [k.name for k in check.assumed],
        "who": check.who,
        "note": check.note,
    }


def _settle(settle: Settle) -> dict[str, str]:
    return {"measure": settle.measure, "how": settle.how, "now": settle.now}


def _known(known: Known) -> dict[str, Any]:
    return {
        "name": known.name,
        "low": known.low,
        "high": known.high,
        "unit": known.unit,
        "typed": known.typed,
        "source": known.source,
    }


def _proof(proof: Proof) -> dict[str, Any]:
    return {
        "covered": list(proof.covered),
        "reasons": list(proof.reasons),
        "pinch": None if proof.pinch is None else _narrowest(proof.pinch),
        "drive": _summaries(proof.drive),
    }


def _summaries(drive: Mapping[str, object]) -> list[str]:
    """Which drive proofs there are; ``--proof`` writes them whole."""
    return list(drive)


def _narrowest(spot: Narrowest) -> dict[str, Any]:
    return {
        "pose": list(spot.pose),
        "on_body": list(spot.on_body),
        "on_obstacle": list(spot.on_obstacle),
        "body": spot.body,
        "obstacle": spot.obstacle,
        "clearance": spot.clearance_mm,
    }
