"""`triage knowledge coverage` as people and scripts call it."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date

import pytest
from click.testing import CliRunner, Result

from triage.cli.knowledge_coverage import coverage
from triage.cli.shared import Shop
from triage.reasoning.knowledge import Knowledge

Run = Callable[..., Result]


@pytest.fixture
def run(knowledge: Knowledge) -> Run:
    def call(*args: str, plain: bool = False) -> Result:
        shop = Shop(plain, date(2026, 6, 1))
        shop.__dict__["knowledge"] = knowledge  # read once a process, not once a test
        return CliRunner(env={"COLUMNS": "80"}).invoke(coverage, list(args), obj=shop, catch_exceptions=False)

    return call


def test_the_table_names_crop_list_and_figures(run: Run) -> None:
    result = run("--crop", "green beans")
    assert result.exit_code == 0
    assert "Penn State Extension" in result.stdout
    assert "5/5" in result.stdout
    assert "Bean: nothing" in result.stdout
    assert "Pepper" not in result.stdout


def test_all_crops_end_with_what_to_write_next_and_with_the_sums(run: Run) -> None:
    text = run().stdout
    assert "To write next" in text
    assert "  20. " in text
    assert "  21. " not in text
    assert "of 56 crops have two lists or more" in text


@pytest.mark.parametrize("plain", [True, False])
def test_everything_fits_eighty_columns(run: Run, plain: bool) -> None:
    assert max(len(line) for line in run(plain=plain).stdout.splitlines()) <= 80


def test_missing_leaves_out_the_table(run: Run) -> None:
    text = run("--crop", "lettuce", "--missing").stdout
    assert "artichoke Italian latent virus" in text
    assert "Penn State" not in text


def test_plain_draws_nothing(run: Run) -> None:
    text = run("--crop", "bean", plain=True).stdout
    assert not any(ord(letter) > 0x2500 for letter in text)
    assert "5 of 5 covered" in text


def test_json_holds_the_same_figures(run: Run) -> None:
    data = json.loads(run("--json").stdout)
    assert "other" not in data["crops"]
    for crop in data["crops"].values():
        for one in crop["lists"]:
            assert one["covered"] + len(one["missing"]) == one["entries"]
            assert one["share"] == pytest.approx(one["covered"] / one["entries"], abs=5e-4)
    assert data["too_few_lists"] == {}, "every crop has two published lists or more"
    counts = [one["lists"] for one in data["wanted"]]
    assert counts == sorted(counts, reverse=True)


def test_json_of_one_crop(run: Run) -> None:
    data = json.loads(run("--crop", "bean", "--json").stdout)
    assert list(data["crops"]) == ["bean"]
    assert data["wanted"] == []


def test_an_unknown_crop_is_one_clear_line(run: Run) -> None:
    result = run("--crop", "beann")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "no crop is called 'beann'" in result.stderr
    assert "did you mean" in result.stderr


def test_the_catch_all_crop_has_no_lists(run: Run) -> None:
    result = run("--crop", "other")
    assert result.exit_code == 0
    assert "no list is kept" in result.stdout


def test_help_leads_with_an_example(run: Run) -> None:
    assert "triage knowledge coverage --crop bean" in run("--help").stdout
