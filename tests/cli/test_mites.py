from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from triage.cli.mites import command
from triage.cli.shared import Shop

GARDEN = str(Path(__file__).parents[2] / "examples" / "weather" / "invented_garden.csv")


def run(*args: str, plain: bool = True) -> Result:
    return CliRunner(env={"COLUMNS": "80"}).invoke(command, args, obj=Shop(plain=plain, today=date(2026, 7, 4)))


def test_help_leads_with_an_example() -> None:
    text = run("--help").stdout
    assert text.index("Example:") < text.index("Options:")


def test_the_usual_run_tells_the_best_gap_and_what_sprays_cannot_do() -> None:
    result = run()
    assert result.exit_code == 0
    flat = " ".join(result.stdout.split())
    assert "25 C (77 F) day and night" in flat
    assert "Best gap here: 4.5 days (4 if whole)" in flat
    assert "delay mites and do not end them" in flat


def test_plain_has_no_lines_and_all_fits_80_columns() -> None:
    plain, drawn = run().stdout, run(plain=False).stdout
    assert "│" not in plain
    assert "│" in drawn
    assert max(len(line) for line in (plain + drawn).splitlines()) <= 80


def test_json_holds_every_schedule() -> None:
    record = json.loads(run("--json", "--at", "30C", "--mix", "good", "--sprays", "0,3,6,9,12").stdout)
    totals = {s["name"]: s["end"] for s in record["schedules"]}
    assert record["best_interval"]["days"] == 3
    assert totals["on day 0, 3, 6, 9, 12"] < totals["every 3 days, 3 times"] < totals["no spray"]
    assert record["mix"] == "good"


def test_a_weather_file_and_its_first_day() -> None:
    flat = " ".join(run("--weather", GARDEN).stdout.split())
    assert "from 2026-07-04 on, by invented_garden.csv (18 days" in flat
    flat = " ".join(run("--weather", GARDEN, "--from", "2026-07-10").stdout.split())
    assert "from 2026-07-10 on" in flat


def test_why_names_sources() -> None:
    text = run("--why").stdout
    assert "bayu2017" in text
    assert "from memory" in text
    assert "Growth a day that others measured" in text


@pytest.mark.parametrize(("name", "starts"), [("m.svg", b"<?xml"), ("m.png", b"\x89PNG")])
def test_figures_are_written_whole(tmp_path: Path, name: str, starts: bytes) -> None:
    pytest.importorskip("matplotlib")
    result = run("--figure", str(tmp_path / name))
    assert result.exit_code == 0
    assert (tmp_path / name).read_bytes().startswith(starts)
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".part"] == []
    assert "Drawn" in result.stderr


def test_the_same_curves_draw_the_same_svg(tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    for name in ("a.svg", "b.svg"):
        assert run("--figure", str(tmp_path / name)).exit_code == 0
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()


@pytest.mark.parametrize(
    ("args", "wrong"),
    [
        (("--at", "5C"), "beyond what is known"),
        (("--at", "25C", "--weather", GARDEN), "cannot stand beside"),
        (("--mix", "tea"), "no mix"),
        (("--sprays", "6,3"), "do not rise"),
        (("--weather", "none.csv"), "no such file"),
        (("--weather", GARDEN, "--from", "2027-01-01"), "the file holds 2026-07-01 to 2026-07-21"),
        (("--figure", "mites.gif"), ".svg or .png"),
        (("--figure", "/no/such/folder/mites.svg"), "cannot be written"),
    ],
)
def test_slips_get_one_clear_line(args: tuple[str, ...], wrong: str) -> None:
    result = run(*args)
    assert result.exit_code == 2
    assert wrong in result.stderr
    assert "Traceback" not in result.output
