"""The PDF read back: tagged, titled, complete, the same every time, safe with hostile names."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from sillway.show.sheet.content import fit_content
from sillway.show.sheet.pdf import MISSING, SheetError, fit_pdf, letters, settable, typeset

HOSTILE = [
    "<script>alert(1)</script>",
    "#panic() $x^2$ *bold* _it_ `raw` @ref \\ // /* [ ]",
    "M" * 80,
    "Zoë 🚐 李 \u202egnp",
    '"}, {"',
]


def text_of(pdf: bytes, tmp_path: Path) -> str:
    """All words as poppler reads them, without spaces and invisible break marks."""
    path = tmp_path / "sheet.pdf"
    path.write_bytes(pdf)
    tool = shutil.which("pdftotext")
    assert tool, "install poppler-utils"
    out = subprocess.run([tool, "-raw", str(path), "-"], check=True, capture_output=True)
    return re.sub(r"[\s\u200b\u00ad]", "", out.stdout.decode())


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def test_tagged_with_title_and_language(case: Any) -> None:
    answer, van, rider = case
    pdf = pikepdf.open(io.BytesIO(fit_pdf(fit_content(answer, van, rider))))
    root = pdf.Root
    assert bool(root.MarkInfo.Marked)
    assert str(root.Lang).startswith("en")
    assert bool(root.ViewerPreferences.DisplayDocTitle)
    assert "/StructTreeRoot" in root
    with pdf.open_metadata() as meta:
        assert rider.name in meta["dc:title"]
        assert meta["pdfuaid:part"] == "1"
    assert 3 <= len(pdf.pages) <= 8
    assert all([float(x) for x in page.mediabox] == [0, 0, 612, 792] for page in pdf.pages)


def test_figures_have_words_and_table_heads_have_scope(sample: Any) -> None:
    content = fit_content(sample.fits(), sample.van(), sample.rider())
    pdf = pikepdf.open(io.BytesIO(fit_pdf(content)))
    kinds: dict[str, list[Any]] = {}
    for item in pdf.objects:
        if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/StructElem":
            kinds.setdefault(str(item.get("/S")), []).append(item)
    assert len(kinds["/Figure"]) == len(content.drawings) + len(content.key_frames)
    assert all(str(figure.get("/Alt", "")) for figure in kinds["/Figure"])
    assert {"/Table", "/TH", "/TD", "/H1", "/H2", "/H3"} <= set(kinds)


def test_checked_subset_of_pdf_ua(case: Any, tmp_path: Path) -> None:
    """The `pdfua` package checks a part of ISO 14289-1's rules only; no full validator is used."""
    from pdfua import Severity, validate

    answer, van, rider = case
    path = tmp_path / "sheet.pdf"
    path.write_bytes(fit_pdf(fit_content(answer, van, rider)))
    report = validate(str(path))
    assert [f.rule_id for f in report.findings if f.severity is Severity.ERROR] == []


def test_every_check_is_on_the_sheet(case: Any, tmp_path: Path) -> None:
    answer, van, rider = case
    text = text_of(fit_pdf(fit_content(answer, van, rider)), tmp_path)
    assert answer.checks
    for check in answer.checks:
        for words in (check.id, check.question, check.source, check.needed, check.measured):
            assert squeezed(words) in text, words
    assert squeezed(f"{str(answer.verdict).capitalize()}.") in text
    assert "Inventeddemodata" in text
    for condition in answer.conditions:
        assert squeezed(condition.who) in text
    for known in answer.assumed:
        assert known.name in text
    pages = len(pikepdf.open(tmp_path / "sheet.pdf").pages)
    assert f"Page{pages}of{pages}" in text


def test_what_a_no_covers_is_on_the_sheet(sample: Any, tmp_path: Path) -> None:
    answer = sample.does_not_fit()
    pdf = fit_pdf(fit_content(answer, sample.van(side_entry=True), sample.rider()))
    text = text_of(pdf, tmp_path)
    for words in (*answer.proof.covered, *answer.proof.reasons):
        assert squeezed(words) in text


def test_same_bytes_every_time(sample: Any) -> None:
    once = fit_pdf(fit_content(sample.fits(), sample.van(), sample.rider()))
    again = fit_pdf(fit_content(sample.fits(), sample.van(), sample.rider()))
    other = fit_pdf(fit_content(sample.fits(), sample.van(), sample.rider(name="Al Poe")))
    assert once == again
    assert once != other


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_are_printed_not_obeyed(sample: Any, tmp_path: Path, name: str) -> None:
    import dataclasses

    answer = dataclasses.replace(sample.fits(), rider=name, van=name)
    van, rider = sample.van(make=name), sample.rider(name=name)
    text = text_of(fit_pdf(fit_content(answer, van, rider)), tmp_path)
    shown = settable(name.replace("\u202e", ""))
    assert squeezed(shown) in text


def test_every_letter_offered_can_be_set() -> None:
    # Under PDF/UA the typesetter refuses a letter that no font has.
    fonts = '("Source Sans Pro", "Libertinus Serif", "DejaVu Sans Mono")'
    source = (
        '#set document(title: "t", date: none)\n'
        f'#set text(lang: "en", font: {fonts})\n= t\n#sys.inputs.all'
    )
    assert typeset(source, {"all": letters() + MISSING}).startswith(b"%PDF")
    with pytest.raises(SheetError, match="could not be displayed"):
        typeset(source, {"all": "🚐"})


def test_a_warning_stops_the_sheet() -> None:
    source = (
        '#set document(title: "t", date: none)\n#set text(lang: "en", font: "No Such Face")\n= t'
    )
    with pytest.raises(SheetError, match="warning"):
        typeset(source, {})
