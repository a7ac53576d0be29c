from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from tests.cli.support import run
from triage.cli import garden, journal, log


def held(tmp_path: Path) -> dict[str, object]:
    return tomllib.loads((tmp_path / "config" / "leaf-triage" / "garden.toml").read_text())


def test_every_setting_is_an_option_and_is_kept(tmp_path: Path) -> None:
    given = {
        "name": "School garden", "region": "europe", "country": "gb", "hemisphere": "north", "units": "metric",
        "tank": "8 L", "soap": "plain", "observer": "Ana", "journal": str(tmp_path / "club.db"),
    }  # fmt: skip
    lists = {"beds": "North bed, South bed", "oils": "peppermint,rosemary"}
    run(garden.command, *(f"--{name}={value}" for name, value in {**given, **lists}.items()))
    expected = {**given, "country": "GB", "beds": ["North bed", "South bed"], "oils": ["peppermint", "rosemary"]}
    assert held(tmp_path) == expected
    shown = run(garden.command, "--json").json()
    assert {name: shown[name] for name in expected} == expected
    assert set(shown["from"].values()) == {"file"}


def test_shown_with_where_each_comes_from(monkeypatch: pytest.MonkeyPatch) -> None:
    run(garden.command, "--tank", "8 L")
    monkeypatch.setenv("TRIAGE_UNITS", "us")
    out = run(garden.command).out
    assert [line.split() for line in out.splitlines() if "holds" in line] == [["Sprayer", "holds", "8", "L", "file"]]
    assert "US gallons and cups" in out and "environment" in out


def test_nothing_is_written_by_looking(tmp_path: Path) -> None:
    assert "triage garden --ask" in run(garden.command).err
    assert not (tmp_path / "config").exists()


def test_forget_takes_a_setting_out(tmp_path: Path) -> None:
    run(garden.command, "--tank", "8 L", "--country", "GB")
    run(garden.command, "--forget", "tank")
    assert held(tmp_path) == {"country": "GB"}
    assert "no setting 'colour'" in run(garden.command, "--forget", "colour", code=2).err


@pytest.mark.parametrize(
    "option", ["--region=atlantis", "--country=Britain", "--units=stone", "--soap=tar", "--tank=big"]
)
def test_wrong_setting_is_told_as_the_option_it_came_by(tmp_path: Path, option: str) -> None:
    err = run(garden.command, option, code=2).err
    assert f"option, {option.split('=')[0]}:" in err and len(err.splitlines()) == 1
    assert not (tmp_path / "config").exists()


def test_plantings_come_and_go() -> None:
    run(garden.command, "--beds", "South bed, North bed")
    assert run(garden.command, "plantings").out.startswith("Nothing is planted yet")
    kept = run(garden.command, "plant", "aubergine", "--bed", "north bed", "--variety", "Black", "--planted", "1 june")
    assert kept.out.startswith("Kept: Eggplant (Black), North bed [")
    run(garden.command, "plant", "bean", "--bed", "South bed")
    assert [line.split()[0] for line in run(garden.command, "plantings").out.splitlines()] == [
        "South",
        "Bean",
        "North",
        "Eggplant",
    ]
    assert "cleared on 2026-08-04" in run(garden.command, "clear", "eggplant", "--date", "yesterday").out
    assert len(run(garden.command, "plantings", "--json").lines()) == 1
    assert len(run(garden.command, "plantings", "--all", "--json").lines()) == 2
    assert "was cleared on" in run(garden.command, "clear", "eggplant", code=2).err
    assert run(journal.command, "--trace", "--json").lines()[0]["after"]["removed"] == "2026-08-04"


def test_dates_backwards_are_refused() -> None:
    run(garden.command, "plant", "bean", "--bed", "b", "--sown", "1 june")
    assert "go backwards" in run(garden.command, "clear", "bean", "--date", "1 may", code=2).err
    assert run(garden.command, "plantings", "--json").lines()[0]["removed"] is None


def test_a_new_name_takes_the_story_along() -> None:
    run(garden.command, "plant", "bean", "--bed", "North bed")
    run(garden.command, "--name", "Club")
    run(log.command, "note", "--crop", "bean", "--bed", "North bed", "--text", "x")
    assert len(run(garden.command, "plantings", "--json").lines()) == 1
    assert [record["garden"] for record in run(journal.command, "--json").lines()] == ["Club"]
