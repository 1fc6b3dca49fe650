"""docs/drive.md from the kept figures: aims against what was measured, tables, plain words."""

from __future__ import annotations

from typing import Any

from tally import Row, cell, table

Kept = dict[str, Any]

HEAD = """# The drive engine in figures

Written by `python bench/drive/figures.py` from `bench/drive/figures.json`; do not edit by hand.

![Processor time against slack](drive.svg)

## What was measured

- **Subdivision.** Boxes of poses (x, y, heading) decide whether the body could get through if it
  could also slide sideways. A *no* is a proof that not even that is possible; a *slide* guides the
  search for a drive and is not an answer to the owner. Four families of random scenes about a known
  threshold: a right-angle corner and a half turn in a strip (threshold in closed form), and
  invented vans with a side and with a rear door (threshold bracketed to 0.1 mm by the engine
  itself).
- **Drives.** A path of straight drives and turns on the spot with a certificate: a lower bound of
  the clearance over the whole swept motion. Random side entries with a quarter turn and right-angle
  corners, classed by the widest clearance a slide can keep. A drive needs more room than a slide,
  so what was not found may not exist.
- **Pairs.** Random van and chair pairs of an invented distribution that was fixed before anything
  was measured with it, each edge of the chair off by 6 mm either way, an answer asked within 3 s.
- **OMPL.** The bidirectional RRT of OMPL, a general-purpose sampling planner, on the same scenes.
- **Re-checks.** Certificates and proofs tested again by two checkers that share no code with the
  engine. A certificate counts as one re-check, and so does each stuck leaf of a proof with its
  witness pair; a proof's cover and flood are tested too and not counted.

Times are processor time of one warm process with one thread, unless a column says wall: the wall
clock shows the same on a free core, and more on a busy machine. Medians and 95th percentiles are of
the scenes named in the row. `too_wide_mm` is what the body is too wide by: negative is room.
"""

NOT_CLAIMED = """## What is not claimed

- No blanket comparison with OMPL: it answers another, easier question (it may slide sideways, and
  its states are only sampled), its validity is called from Python here, and scene by scene it may
  be faster. It is not made to say no, so on scenes without a way it runs out its clock by design.
- No completeness of the search for drives: a drive that is not found is *too close to call*.
- A *no* holds for the scene as measured, inside its bounds; the bounds are walls.
- The pairs are invented, not a survey of vans: the shares tell about this distribution alone.
- Whole fits and the demo lot are not measured here.
- A small size measures too few scenes for a 95th percentile to mean much; the nightly size is for
  that.
"""


def _aims(kept: Kept) -> list[Row]:
    out: list[Row] = []

    def add(aim: str, measured: str, met: bool) -> None:
        out.append({"aim": aim, "measured": measured, "met": "yes" if met else "no"})

    if "subdivision" in kept:
        seen = kept["subdivision"]
        far = [r for r in seen["verdicts"] if r["family"] == "all" and r["too_wide_mm"] >= 5]
        missed = sum(r["scenes"] - r["right"] for r in far)
        add(
            "a proof of no within 100 ms where 5 mm or more are missing",
            f"95th {cell(max(r['p95_ms'] for r in far))} ms, "
            f"most {cell(max(r['most_ms'] for r in far))} ms, {missed} not proved",
            missed == 0 and max(r["p95_ms"] for r in far) <= 100,
        )
        near = [
            r
            for r in seen["verdicts"]
            if r["family"] in ("corner", "strip") and abs(r["too_wide_mm"]) == 2
        ]
        right, all_ = sum(r["right"] for r in near), sum(r["scenes"] for r in near)
        add("decided 2 mm from the closed form", f"{right} of {all_}", right == all_)
        widest = max(r["widest_bracket_mm"] for r in seen["brackets"])
        add("bracket of the widest way at most 3 mm", f"{cell(widest)} mm", widest <= 3)
    if "drives" in kept:
        row = kept["drives"]["rows"][-1]
        quick = row["found"] > 0 and row["median_ms"] <= 300 and row["p95_ms"] <= 1000
        add(
            "a certified drive in 300 ms median, 1 s at the 95th, from 15 mm clearance",
            f"median {cell(row['median_ms'])} ms, 95th {cell(row['p95_ms'])} ms; "
            f"found {row['found']} of {row['scenes']} that can be slid through",
            quick,
        )
    if "pairs" in kept:
        sums = kept["pairs"]["sums"][0]
        most = kept["pairs"]["by_answer"][-1]["most_ms"]
        add(
            "every pair ends within 3 s",
            f"most {cell(most)} ms, {sums['over_3_s']} of {sums['pairs']} later",
            sums["over_3_s"] == 0,
        )
        add(
            "at most 1 % undecided because of the search",
            f"{cell(sums['by_search_percent'])} % ({sums['by_search']}); "
            f"by tolerance {sums['by_tolerance']}",
            sums["by_search_percent"] <= 1,
        )
    if "random" in kept:
        row = kept["random"]["rows"][0]
        wrong = len(row["contradictions"])
        add("no contradiction with OMPL", f"{wrong} in {row['scenes']} random scenes", wrong == 0)
    if "rechecks" in kept:
        row = kept["rechecks"]["rows"][0]
        add(
            "no fault on re-check",
            f"{len(row['faults'])} in {row['re-checks']}: {row['certificates']} certificates, "
            f"{row['witnesses']} leaves of {row['proofs']} proofs",
            not row["faults"],
        )
    if "cold" in kept:
        decided = [r for r in kept["cold"]["rows"] if r["process"].startswith(("a yes", "a no"))]
        most = max(row["wall_most_s"] for row in decided)
        cpu = max(row["cpu_most_s"] for row in decided)
        add(
            "a new process that drives to a yes or a no within 3 s, cache warm",
            f"wall at most {cell(most)} s, CPU at most {cell(cpu)} s",
            most <= 3,
        )
    return out


def faults(kept: Kept) -> list[str]:
    """Whatever must not happen at all, in words."""
    wrong: list[str] = []
    for section, key in (("random", "contradictions"), ("rechecks", "faults")):
        for row in kept.get(section, {}).get("rows", []):
            wrong += row[key]
    for row in kept.get("subdivision", {}).get("verdicts", []):
        if row["wrong"]:
            wrong.append(f"{row['family']}, {row['too_wide_mm']} mm: {row['wrong']} wrong verdicts")
    for row in kept.get("subdivision", {}).get("proofs", []):
        if row["faults"]:
            wrong.append(f"{row['family']}: {row['faults']} faults in proofs")
    for row in kept.get("pairs", {}).get("sums", []):
        if row["wrong_certificates"]:
            wrong.append(f"pairs: {row['wrong_certificates']} wrong certificates")
    for row in kept.get("drives", {}).get("rows", []):
        if row.get("wrong certificates"):
            wrong.append(f"drives: {row['wrong certificates']} wrong certificates")
    return wrong


def _ompl_words(rows: list[Row]) -> str:
    """Who was faster where, and what collided."""

    def names(some: list[Row]) -> str:
        return "; ".join(str(row["scene"]) for row in some) or "none"

    def sooner(row: Row, key: str) -> bool:
        ours, theirs = row[key], row["ompl_ms"]
        return isinstance(ours, float) and isinstance(theirs, float) and theirs < ours

    tried = sum(2 * int(str(r["runs"])) for r in rows)
    solved = sum(int(str(r["ompl_solved"])) + int(str(r["ompl_fcl_solved"])) for r in rows)
    hit = sum(int(str(r["ompl_colliding"])) + int(str(r["ompl_fcl_colliding"])) for r in rows)
    never = [r for r in rows if not r["ompl_solved"] and not r["ompl_fcl_solved"]]
    return (
        f"- OMPL sooner than our slide (same question, same distance): "
        f"{names([r for r in rows if sooner(r, 'slide_ms')])}.\n"
        f"- OMPL sooner than our whole answer (a certified drive or a proof): "
        f"{names([r for r in rows if sooner(r, 'answer_ms')])}.\n"
        f"- Without a way from OMPL in any run: {names(never)}.\n"
        f"- It solved {solved} of {tried} runs; {hit} of those ways collide on re-check at poses a "
        "millimetre apart.\n"
    )


def _measured(kept: Kept, name: str) -> str:
    seen = kept[name]
    load = " and ".join(cell(value) for value in seen["load_before_and_after"])
    return (
        f"*{seen['date']}, size {seen['size']}, {seen['machine']}, load {load} before and after, "
        f"{cell(seen['cpu_s'])} s CPU, peak {seen['peak_memory_MB']} MB with the sections before "
        f"it: `{seen['command']}`*\n"
    )


def page(kept: Kept) -> str:
    """The Markdown."""
    parts = [HEAD, "## Aims\n", table(_aims(kept)) + "\n", NOT_CLAIMED]

    def section(name: str, title: str, *keys: str) -> None:
        if name in kept:
            parts.extend([f"## {title}\n", _measured(kept, name)])
            parts.extend(table(_shown(kept[name][key])) + "\n" for key in keys)

    section("subdivision", "Noes and slides", "verdicts", "brackets", "proofs")
    section("drives", "Certified drives", "rows")
    section("pairs", "Random pairs", "by_answer", "sums")
    section("ompl", "Side by side with OMPL", "rows")
    if "ompl" in kept:
        parts.append(_ompl_words(kept["ompl"]["rows"]))
    section("random", "Random scenes against OMPL", "rows")
    section("rechecks", "Re-checks", "rows")
    section("growth", "Growth with obstacles and resolution; the kernel", "obstacles")
    if "growth" in kept:
        parts.extend(table(kept["growth"][key]) + "\n" for key in ("resolution", "kernel"))
    section("cold", "Cold start and memory", "rows")
    return "\n".join(parts)


def _shown(rows: list[Row]) -> list[Row]:
    """Lists of faults as their number; wide columns of the last row kept where all have them."""
    keys = list(rows[0]) if rows else []
    counted = ("faults", "contradictions")
    return [
        {
            key: len(value)
            if key in counted and isinstance(value := row.get(key), list)
            else row.get(key)
            for key in keys
        }
        for row in rows
    ]
