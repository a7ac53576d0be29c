"""Commands as people and scripts call them: output, messages, exit codes."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner, Result

from triage.cli.main import COMMANDS, main

BEAN = """\
crop: bean
month: 8
answers:
  pattern: [pale_stippling, {value: bronzing, sure: false}]
  creature: [slow_specks]
  motion: slow_crawl
context: {severity: some, new_growth: clean, in_bloom: false, days_to_harvest: 14}
"""


def run(*args: str, text: str | None = None) -> Result:
    return CliRunner().invoke(main, list(args), input=text, catch_exceptions=False)


@pytest.fixture
def bean(tmp_path: Path) -> str:
    path = tmp_path / "bean.yaml"
    path.write_text(BEAN)
    return str(path)


def test_assess_json_keeps_the_contract(bean: str) -> None:
    result = run("assess", "--json", bean, bean)
    assert result.exit_code == 0
    lines = [json.loads(line) for line in result.stdout.splitlines()]
    assert len(lines) == 2
    verdict = lines[0]
    assert verdict["file"] == bean
    assert verdict["state"] in ("likely", "leaning", "unclear")
    assert {"id", "probability"} <= set(verdict["classes"][0])
    assert {"id", "name", "class", "probability"} <= set(verdict["causes"][0])
    assert {"judgement", "worth_it", "reason", "evidence"} <= set(verdict["spray"])
    assert {"findings", "actions", "cautions", "would_change"} <= set(verdict)
    assert verdict["causes"][0]["id"] == "two_spotted_spider_mite"
    assert verdict["spray"]["judgement"] == "kills_on_contact"
    schema = json.loads(run("schema", "verdict").stdout)
    jsonschema.validate(verdict, schema)


def test_case_files_fit_their_published_schema(bean: str) -> None:
    schema = json.loads(run("schema", "case").stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    import yaml

    jsonschema.validate(yaml.safe_load(BEAN), schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"crop": "bean", "answer": {}}, schema)


def test_ask_plays_a_prepared_interview(bean: str) -> None:
    result = run("ask", "--answers", bean, "--json")
    assert result.exit_code == 0
    verdict = json.loads(result.stdout)
    assert verdict["asked"][0] == "pattern"
    assert len(verdict["asked"]) <= 7
    assert verdict["causes"][0]["id"] == "two_spotted_spider_mite"
    assert verdict["spray"]["judgement"] == "kills_on_contact"


def test_a_case_may_come_on_stdin() -> None:
    result = run("assess", "--json", "-", text=BEAN)
    assert result.exit_code == 0
    assert json.loads(result.stdout)["file"] == "-"
    as_json = json.dumps({"crop": "bean", "answers": {"creature": ["slow_specks"]}})
    assert run("assess", "--json", "-", text=as_json).exit_code == 0


def test_bad_input_is_one_line_on_stderr_and_exit_2(tmp_path: Path, bean: str) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text("crop: bean\nanswers:\n  pattern: [pale_stipling]\n")
    result = run("assess", "--json", str(bad), bean)
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert f"{bad}, line 3" in result.stderr
    assert "did you mean pale_stippling" in result.stderr
    assert len(result.stdout.splitlines()) == 1, "the good file still gets its verdict"
    assert run("assess", str(tmp_path / "none.yaml")).exit_code == 2
    assert run("assess").exit_code == 2


def test_the_interview_needs_a_terminal_and_says_so() -> None:
    result = run("ask", "--no-input")
    assert result.exit_code == 2
    assert "needs a terminal" in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_a_visit_file_gets_a_plan(tmp_path: Path) -> None:
    path = tmp_path / "visit.yaml"
    path.write_text(
        "cases:\n"
        "- {crop: bean, month: 8, answers: {pattern: [pale_stippling], creature: [slow_specks]}}\n"
        "- {crop: bean, month: 8, answers: {pattern: [ragged_holes], trace: [slime_trail]}}\n"
    )
    result = run("--plain", "assess", str(path))
    assert result.exit_code == 0
    assert "One plan for this plant" in result.stdout
    assert "It will not help against: Slugs" in result.stdout


@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_verdict_fits_the_screen(bean: str, width: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    lines = run("assess", bean).stdout.splitlines()
    assert max(len(line) for line in lines) <= width
    if width >= 80:
        assert len(lines) <= 24


def test_plain_output_has_no_lines_bars_or_colour(bean: str) -> None:
    text = run("--plain", "assess", "--why", bean).stdout
    assert not set("─█░│\x1b") & set(text)
    assert "Two-spotted spider mite" in text


def test_why_tells_reasons_sources_and_cautions(bean: str) -> None:
    text = " ".join(run("--plain", "assess", "--why", bean).stdout.split())
    for part in ("speaks for it", "Sources for the spray judgement", "When to act", "Take care", "home mix is weak"):
        assert part in text


def test_cause_and_compare_and_cue() -> None:
    assert "Tetranychus" in run("cause", "spider", "mite").stdout
    assert "Sources" in run("cause", "slug", "--sources").stdout
    assert run("cause", "quantum").exit_code == 2
    assert "The check" in run("compare", "spider mite", "ozone").stdout
    assert run("compare", "spider mite", "nothing at all").exit_code == 2
    assert "pale_stippling" in run("cue", "pattern").stdout
    assert "did you mean pattern" in run("cue", "patern").stderr


def test_the_knowledge_check_finds_faults(tmp_path: Path) -> None:
    import shutil

    from triage.reasoning.library import knowledge_folder

    def other_classes(folder: str, names: list[str]) -> list[str]:
        by_class = Path(folder).name in ("causes", "imagined", "letters")
        return [name for name in names if by_class and Path(name).stem != "mollusc"]

    root = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder(), root, ignore=other_classes)
    path = root / "causes/mollusc/slug.yaml"
    path.write_text(path.read_text().replace("tells:\n- ", "tells:\n- see slow_specks ", 1))
    result = run("knowledge", "check", "--folder", str(root))
    assert result.exit_code == 1
    assert re.search(r"knowledge/causes/mollusc/slug.yaml, line \d+.*slow_specks", result.stderr)


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_command_has_help_that_leads_with_an_example(command: str) -> None:
    result = run(command, "--help")
    assert result.exit_code == 0
    assert "Example:" in result.stdout
    assert f"triage {command}" in result.stdout.replace("main", "triage")


def test_a_mistyped_command_gets_a_hint() -> None:
    result = run("asess", "x")
    assert result.exit_code == 2
    assert "Did you mean assess" in result.stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_scripts(shell: str) -> None:
    assert "_TRIAGE_COMPLETE" in run("completion", shell).stdout


def test_examples_all_get_a_verdict() -> None:
    folder = Path(__file__).parents[2] / "examples" / "cases"
    files = sorted(str(path) for path in folder.glob("*.yaml"))
    assert len(files) >= 8
    result = run("assess", "--json", *files)
    assert result.exit_code == 0, result.stderr
    assert len(result.stdout.splitlines()) >= len(files)
