from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from triage.cli import today as today_module
from triage.cli.shared import Shop
from triage.screens import holds_page

GARDEN = str(Path(__file__).parents[2] / "examples" / "weather" / "invented_garden.csv")


def run(*args: str, plain: bool = True) -> Result:
    shop = Shop(plain=plain, today=date(2026, 7, 4))
    return CliRunner(env={"COLUMNS": "80"}).invoke(today_module.command, args, obj=shop)


def test_a_hot_day_is_held_with_number_source_and_next_date() -> None:
    flat = " ".join(run("--weather", GARDEN).stdout.split())
    assert "Saturday 4 July 2026" in flat
    assert "Not on this day." in flat
    assert "up to 31 C (88 F). Limit: 29 C (85 F)." in flat
    assert "wsu_oil_damage" in flat
    assert "Sources differ" in flat
    assert "Next Wednesday 8 July 2026, by the weather file." in flat


def test_a_clear_day() -> None:
    assert "Nothing holds it." in run("--weather", GARDEN, "--date", "2026-07-08").stdout


def test_without_a_file_and_sulfur_lately() -> None:
    flat = " ".join(run("--hottest", "77F", "--no-rain", "--last-sulfur", "2026-06-20").stdout.split())
    assert "Sulfur too recent: 14 days before" in flat
    assert "Next Monday 20 July 2026 at the earliest, if that day's weather allows it." in flat


def test_something_missing_is_not_a_yes() -> None:
    flat = " ".join(run("--hottest", "77F").stdout.split())
    assert "Can't tell." in flat
    assert "Rain not known" in flat


def test_json() -> None:
    record = json.loads(run("--weather", GARDEN, "--json", "--bloom").stdout)
    assert record["clear"] is False
    assert {reason["id"] for reason in record["reasons"] if reason["kind"] == "hold"} == {"heat", "bloom"}
    assert record["weather"]["high"] == 31
    assert record["next_clear"] is None


@pytest.mark.parametrize("plain", [True, False])
def test_all_fits_80_columns(plain: bool) -> None:
    text = run("--weather", GARDEN, "--bloom", "--last-sulfur", "2026-07-01", plain=plain).stdout
    assert max(len(line) for line in text.splitlines()) <= 80
    assert ("─" in text) is not plain


@pytest.mark.parametrize(
    ("answers", "says"),
    [
        (["mild", "fair", "well"], "Nothing holds it."),
        (["hot", "fair", "well"], "Too hot: as you say"),
        (["mild", "both", "well"], "Too windy: as you say"),
        (["cold", "fair", "well"], "Too cold: as you say"),
        (["mild", "fair", "both"], "Thirsty plants"),
        (["unknown", "unknown", "well"], "Can't tell."),
        (["mild", None, "well"], "Can't tell."),
    ],
)
def test_three_questions_without_a_file(monkeypatch: pytest.MonkeyPatch, answers: list[str | None], says: str) -> None:
    given = iter(answers)
    monkeypatch.setattr(holds_page, "choose", lambda *_: next(given))
    monkeypatch.setattr(today_module, "may_ask", lambda: True)
    flat = " ".join(run().stdout.split())
    assert says in flat
    assert next(given, "none left") == "none left"


@pytest.mark.parametrize(
    ("args", "wrong"),
    [
        ((), "nothing is known of the weather"),
        (("--json",), "nothing is known of the weather"),
        (("--weather", GARDEN, "--no-rain"), "in place of --weather"),
        (("--hottest", "warm"), "write 25C or 77F"),
        (("--wind", "8 knots"), "write 13km/h or 8mph"),
        (("--weather", "none.csv"), "no such file"),
    ],
)
def test_slips_get_one_clear_line(args: tuple[str, ...], wrong: str) -> None:
    result: Any = run(*args)
    assert result.exit_code == 2
    assert wrong in result.stderr
    assert "Traceback" not in result.output
