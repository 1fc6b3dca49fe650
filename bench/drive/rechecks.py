"""Certificates and proofs, as many as asked, tested again by the separate checkers.

    python bench/drive/rechecks.py [--count 2000] [--first 50000]       nightly 100000

What is counted: a certificate of a drive is one re-check; a leaf of a proof with its witness pair
is one re-check (a proof also has its cover and its flood tested, which is not counted). Goes on
until the sum is reached and one in twenty of it is a certificate. Before it begins, a claim and
a proof are falsified and have to be caught. Ends with status 1 if there is a fault.
"""

from __future__ import annotations

import argparse
import random
import sys
from dataclasses import replace

from pairs import LIMIT_S, pair
from scenes import FAMILIES
from search import random_drive
from tally import Row, clocked, progress, table, times, within

from sillway.fit.drive.answer import solve
from sillway.fit.drive.certificate import Certificate
from sillway.fit.drive.proof import Proof, from_json, prove, to_json
from sillway.fit.drive.recheck_path import recheck_path
from sillway.fit.drive.recheck_proof import recheck_proof
from sillway.fit.drive.scene import Budget
from sillway.fit.drive.subdivide import Shut, explore

FIRST = 50_000
# A proof a round, from these families in turn, short by this much at random [mm].
SHORT_MM = (0.8, 60.0)
CERTIFICATE_SHARE = 0.05


def a_proof(seed: int) -> Proof | None:
    r = random.Random(seed)
    names = list(FAMILIES)
    make = FAMILIES[names[seed % len(names)]](r)
    told = explore(make(r.uniform(*SHORT_MM)), Budget())
    # As a reader has it: written out and read back.
    return from_json(to_json(prove(told))) if isinstance(told, Shut) else None


def certificates(seed: int) -> list[Certificate]:
    """Of a random drive and of a random pair, where there are any."""
    _, scene = random_drive(seed)
    _, bad, good = pair(seed)
    answers = (
        solve(scene, scene, within(LIMIT_S), explain=False),
        solve(bad, good, within(LIMIT_S), explain=False),
    )
    return [answer.certificate for answer in answers if answer.certificate]


def falsified_are_caught(seed: int) -> bool:
    """A claim a millimetre too high; the flood's first leaf said to be stuck."""
    proof = next(p for p in map(a_proof, range(seed, seed + 20)) if p and p.flood)
    paper = next(c for s in range(seed, seed + 20) for c in certificates(s)).to_json()
    leaf = proof.flood[0]
    leaves = list(proof.leaves)
    leaves[leaf] = replace(leaves[leaf], stuck=True, body=0, obstacle=-1)
    higher = paper | {"claimed_clearance": paper["claimed_clearance"] + 1.0}
    bent = replace(proof, leaves=tuple(leaves), flood=proof.flood[1:])
    return bool(recheck_path(higher)) and bool(recheck_proof(bent, samples=False))


def row(count: int, first: int = FIRST) -> Row:
    if not falsified_are_caught(first):
        raise SystemExit("the checkers miss what was falsified")
    faults: list[str] = []
    proofs, witnesses, seed = 0, 0, first
    took: dict[str, list[float]] = {"path": [], "proof": []}
    while witnesses + len(took["path"]) < count or len(took["path"]) < CERTIFICATE_SHARE * count:
        found = len(took["path"])
        if seed % 5 == 0:
            progress(
                f"re-checks: {witnesses} witnesses, {found} certificates of {count}, "
                f"{len(faults)} faults"
            )
        for certificate in certificates(seed):
            paper = certificate.to_json()
            wrong, seconds = clocked(recheck_path, paper)
            took["path"].append(seconds)
            faults += [f"certificate, seed {seed}: {words}" for words in wrong]
        proof = a_proof(seed) if witnesses < (1 - CERTIFICATE_SHARE) * count else None
        if proof:
            wrong, seconds = clocked(recheck_proof, proof)
            took["proof"].append(seconds)
            faults += [f"proof, seed {seed}: {words}" for words in wrong]
            witnesses += sum(leaf.stuck for leaf in proof.leaves)
            proofs += 1
        seed += 1
    return {
        "re-checks": witnesses + len(took["path"]),
        "certificates": len(took["path"]),
        "proofs": proofs,
        "witnesses": witnesses,
        "faults": faults,
        "falsified_caught": True,
        **{f"path_{key}": value for key, value in times(took["path"]).items()},
        **{f"proof_{key}": value for key, value in times(took["proof"]).items()},
    }


if __name__ == "__main__":
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--count", type=int, default=2000)
    words.add_argument("--first", type=int, default=FIRST)
    given = words.parse_args()
    seen = row(given.count, given.first)
    faults = seen.pop("faults")
    print(table([seen]))
    print(f"faults: {faults or 'none'}")
    sys.exit(1 if faults else 0)
