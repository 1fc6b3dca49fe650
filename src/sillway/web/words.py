"""Translations: which strings there are, and compiling them without gettext's programs."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import polib
from django.utils.translation.template import templatize

HERE: Final = Path(__file__).parent
LOCALE: Final = HERE / "locale"
_CALLS: Final = {"_", "_now", "gettext", "gettext_lazy"}
_TEMPLATIZED: Final = re.compile(r"(?:gettext|_)\((u?(?:'(?:\\.|[^'])*'|\"(?:\\.|[^\"])*\"))\)")


def compile_words(target: Path) -> None:
    """Write each language's ``django.mo`` below ``target``, where Django looks for it."""
    for source in sorted(LOCALE.glob("*/LC_MESSAGES/django.po")):
        out = target / source.relative_to(LOCALE).with_suffix(".mo")
        if out.exists() and out.stat().st_mtime >= source.stat().st_mtime:
            continue
        out.parent.mkdir(parents=True, exist_ok=True)
        part = out.with_suffix(".part")
        polib.pofile(str(source)).save_as_mofile(str(part))
        part.replace(out)


def strings() -> set[str]:
    """Every translatable string in the templates and modules of the workbench."""
    found: set[str] = set()
    for path in sorted(HERE.rglob("*.html")):
        found.update(_in_template(path.read_text("utf-8")))
    for path in sorted(HERE.rglob("*.py")):
        found.update(_in_module(path.read_text("utf-8")))
    return found


def _in_template(text: str) -> Iterator[str]:
    for quoted in _TEMPLATIZED.findall(templatize(text)):
        yield ast.literal_eval(quoted)


def _in_module(text: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(text)):
        if (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id in _CALLS
            and node.args
            and isinstance(node.args[0], ast.Constant)
            and isinstance(node.args[0].value, str)
        ):
            yield node.args[0].value


def missing(language: str) -> list[str]:
    """Strings without a translation in this language, sorted."""
    po = polib.pofile(str(LOCALE / language / "LC_MESSAGES" / "django.po"))
    done = {entry.msgid for entry in po.translated_entries()}
    return sorted(strings() - done)
