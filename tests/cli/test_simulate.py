"""`triage knowledge simulate` as people and scripts call it."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from triage.cli.knowledge_simulate import command
from triage.cli.shared import Shop

FEW = ("--cases", "12", "--workers", "1")


def run(*args: str, plain: bool = False) -> Result:
    shop = Shop(plain=plain, today=date(2024, 6, 1))
    return CliRunner().invoke(command, list(args), obj=shop, catch_exceptions=False)


def test_the_tables_fit_the_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    result = run(*FEW)
    assert result.exit_code == 0
    for words in ("Kind of cause right", "By kind of cause", "Said against true", "cannot tell apart", "in vain"):
        assert words in result.stdout
    assert max(len(line.rstrip()) for line in result.stdout.splitlines()) <= 80


def test_plain_draws_no_bars(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    result = run(*FEW, plain=True)
    assert "█" not in result.stdout
    assert "said" in result.stdout


def test_json_holds_every_figure_and_the_same_seed_the_same_ones() -> None:
    one, again, other = (run(*FEW, "--json", "--seed", seed) for seed in ("7", "7", "8"))
    assert one.stdout == again.stdout
    assert one.stdout != other.stdout
    data = json.loads(one.stdout, parse_constant=pytest.fail)
    assert data["overall"]["cases"] == 12
    assert data["seed"] == 7
    assert 0 <= data["sprays"]["wrong_rate"] <= 1
    assert len(data["class_reliability"]["bins"]) == 10
    assert {"by_class", "by_cause", "mixed", "cannot_tell_apart", "observer"} <= set(data)


def test_one_class_only() -> None:
    data = json.loads(run(*FEW, "--json", "--class", "mollusc").stdout)
    assert [row["id"] for row in data["by_class"]] == ["mollusc"]


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("--class", "dragons"), "no class 'dragons'"),
        (("--figure", "plot.docx"), "end it in .png or .svg"),
        (("--figure", "no_such_folder/plot.png"), "make the folder first"),
    ],
)
def test_bad_input_is_told_before_anything_runs(args: tuple[str, ...], says: str) -> None:
    result = run(*FEW, *args)
    assert result.exit_code == 2
    assert says in result.stderr
    assert result.stdout == ""


def test_the_figure_is_written(tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    path = tmp_path / "said.svg"
    assert run(*FEW, "--figure", str(path)).exit_code == 0
    assert path.read_text().lstrip().startswith("<?xml")
