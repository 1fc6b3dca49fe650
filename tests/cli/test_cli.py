"""The command line as an outside script meets it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from sillway.cli import BAD_INPUT, COMMANDS, main

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo"
VAN, RIDER = str(DEMO / "vans" / "heron.json"), str(DEMO / "riders" / "hendrick.json")
DAY = ["--on", "2026-11-25"]


def sillway(*args: str, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "sillway", *args],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def backed(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, object], Path]:
    """One fit by the command line, as JSON, with its certificate."""
    folder = tmp_path_factory.mktemp("fit")
    done = sillway("fit", VAN, RIDER, "--json", "--certificate", str(folder / "c.json"), *DAY)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return json.loads(done.stdout), folder / "c.json"


def test_fit_prints_one_object_with_what_the_contract_names(
    backed: tuple[dict[str, object], Path],
) -> None:
    answer, _ = backed
    for key in ("verdict", "conditions", "settle", "checks", "posture", "arrangement"):
        assert key in answer
    assert answer["verdict"] in ("fits", "fits with conditions")
    assert "certificate" in answer
    checks = answer["checks"]
    assert isinstance(checks, list)
    for check in checks:
        assert {"id", "class", "verdict", "margin", "unit", "needed", "measured", "source"} <= set(
            check
        )
        assert check["source"], check["id"]


def test_the_certificate_holds_when_tested_again(backed: tuple[dict[str, object], Path]) -> None:
    _, file = backed
    given = json.loads(file.read_text(encoding="utf-8"))
    assert set(given) >= {"obstacles", "body", "path", "claimed_clearance"}
    done = sillway("recheck", str(file), "--json")
    assert json.loads(done.stdout) == {"kind": "certificate", "sound": True, "faults": []}


def test_a_tampered_certificate_is_found(
    backed: tuple[dict[str, object], Path], tmp_path: Path
) -> None:
    _, file = backed
    given = json.loads(file.read_text(encoding="utf-8"))
    given["claimed_clearance"] += 500.0
    bad = tmp_path / "bad.json"
    bad.write_text(json.dumps(given), encoding="utf-8")
    answer = json.loads(sillway("recheck", str(bad), "--json").stdout)
    assert answer["sound"] is False
    assert answer["faults"]


def test_drive_answers_a_scene(tmp_path: Path) -> None:
    box = [[-600, -350], [600, -350], [600, 350], [-600, 350]]
    scene = {
        "obstacles": [
            {"polygon": [[2000, 500], [2100, 500], [2100, 900], [2000, 900]], "z": [0, 1000]}
        ],
        "body": [{"polygon": box, "z": [0, 1000]}],
        "start": [0, 0, 0],
        "goal": [4000, 0, 0],
        "bounds": [[-1000, -1000], [5000, 1000]],
        "tolerance_mm": 0,
    }
    file = tmp_path / "scene.json"
    file.write_text(json.dumps(scene), encoding="utf-8")
    answer = json.loads(sillway("drive", str(file), "--json").stdout)
    assert answer["verdict"] == "fits"
    # Straight past the post: 500 - 350 mm.
    assert answer["clearance_mm"] == pytest.approx(150.0, abs=1e-3)
    assert answer["path"][0] == [0, 0, 0]
    assert answer["path"][-1] == pytest.approx([4000, 0, 0])


def test_every_command_has_help_with_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    for command in COMMANDS:
        with pytest.raises(SystemExit) as stop:
            main([command, "--help"])
        assert stop.value.code == 0
        assert f"sillway {command}" in capsys.readouterr().out.split("example:")[1]


def test_the_readme_and_its_table_know_every_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for command in COMMANDS:
        if command != "demo":
            assert f"`sillway {command}" in readme, command


def test_examples_in_help_name_files_that_exist() -> None:
    for _, _, example in COMMANDS.values():
        for word in example.split():
            if word.startswith("demo/"):
                assert (ROOT / word).exists(), word


@pytest.mark.parametrize("what", ["van", "rider"])
def test_new_writes_a_template_once(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / f"{what}.csv"
    assert main(["new", what, str(file)]) == 0
    text = file.read_text(encoding="utf-8")
    assert "field,value,way,tolerance,note" in text
    assert main(["new", what, str(file)]) == BAD_INPUT
    assert "nothing was overwritten" in capsys.readouterr().err
    assert file.read_text(encoding="utf-8") == text


def test_rules_name_value_source_and_whether_the_text_was_seen(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["rules", "ramp.slope.road", "--json", *DAY]) == 0
    (rule,) = json.loads(capsys.readouterr().out)["rules"]
    assert rule["source"].startswith("36 CFR 1192")
    assert rule["provenance"] in ("seen", "from memory", "common practice, no source")


BAD = {
    "truncated": '{"kind": "van", "units": ',
    "empty": "",
    "a list": "[1, 2]",
    "not a number": '{"kind": "van", "year": NaN}',
    "a wrong unit": '{"kind": "van", "ramp": {"length": "34 furlongs"}}',
}


@pytest.mark.parametrize("text", BAD.values(), ids=list(BAD))
def test_bad_input_is_one_line_and_exit_2(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "van.json"
    file.write_text(text, encoding="utf-8")
    sheet = tmp_path / "sheet"
    assert main(["fit", str(file), RIDER, "--sheet", str(sheet), "--json"]) == BAD_INPUT
    out = capsys.readouterr()
    assert out.out == ""
    assert out.err.count("\n") == 1
    assert "Traceback" not in out.err
    assert "van.json" in out.err
    assert not sheet.exists()


def test_a_folder_a_missing_file_and_wrong_arguments_are_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for args in (["fit", str(tmp_path), RIDER], ["fit", str(tmp_path / "no.json"), RIDER]):
        assert main(args) == BAD_INPUT
        assert capsys.readouterr().err.count("\n") == 1
    with pytest.raises(SystemExit) as stop:
        main(["fit", VAN])
    assert stop.value.code == BAD_INPUT
    assert capsys.readouterr().err.count("\n") == 1


def test_a_huge_file_is_refused_unread(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "van.json"
    with file.open("wb") as out:
        out.truncate(100_000_000)
    assert main(["fit", str(file), RIDER]) == BAD_INPUT
    assert "100 MB" in capsys.readouterr().err


def test_seconds_must_be_a_time(capsys: pytest.CaptureFixture[str]) -> None:
    for given in ("0", "-1", "nan", "inf"):
        assert main(["fit", VAN, RIDER, "--seconds", given]) == BAD_INPUT
        assert "--seconds" in capsys.readouterr().err


def test_help_needs_no_compiled_kernel() -> None:
    code = "import sys, sillway.cli as c\ntry: c.main(['--help'])\nexcept SystemExit: pass\n"
    code += "sys.exit(any(m in sys.modules for m in ('numba', 'numpy', 'pydantic', 'django')))"
    assert (
        subprocess.run([sys.executable, "-c", code], capture_output=True, check=False).returncode
        == 0
    )
