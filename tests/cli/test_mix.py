"""`triage mix` and `triage safety` as a person runs them."""

from __future__ import annotations

import io
import json
from datetime import date

import pytest
from click.testing import CliRunner, Result

from triage.cli.mix import command as mix
from triage.cli.safety import command as safety
from triage.cli.shared import Shop
from triage.screens.console import screen
from triage.screens.mix_page import minutes
from triage.screens.spray_timer import run_timer


@pytest.fixture(autouse=True)
def narrow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")


def run(*arguments: str, plain: bool = True) -> Result:
    return CliRunner().invoke(mix, list(arguments), obj=Shop(plain=plain, today=date(2024, 6, 1)))


def test_the_recipe_is_on_the_first_lines() -> None:
    result = run("--tank", "1 gal")
    assert result.exit_code == 0
    top = "\n".join(result.stdout.splitlines()[:6])
    assert "2 tsp" in top
    assert "1 tbsp" in top
    assert "0.26%" in top
    assert top.index("water") < top.index("soap") < top.index("oil")
    assert "Shake again every 3½ min" in result.stdout
    assert "THIS MIX" in result.stdout


@pytest.mark.parametrize("plain", [True, False])
def test_it_fits_eighty_columns(plain: bool) -> None:
    result = run("--plants", "30", "--crop", "tomato", "--tank", "1.5 L", "--oil", "clove,thyme,peppermint=3",
                 "--hardness", "250", "--country", "GB", "--why", plain=plain)  # fmt: skip
    assert result.exit_code == 0
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    assert ("█" in result.stdout) != plain


def test_the_law_stands_before_a_recipe_that_may_be_an_offence() -> None:
    text = run("--tank", "1 gal", "--country", "GB").stdout
    assert text.index("offence") < text.index("To mix")
    assert "4.55 L" in text
    home = run("--tank", "1 gal").stdout
    assert home.index("To mix") < home.index("offence")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--tank", "1 gal", "--oil-rate", "0.6%"], "the most this program mixes"),
        (["--tank", "1 gal", "--soap", "none"], "does not mix with water alone"),
        (["--tank", "1 gal", "--soap", "insecticidal"], "label"),
        (["--tank", "10 drops"], "no measure"),
        (["--plants", "5"], "--crop"),
        (["--plants", "5", "--bed", "4 m2", "--crop", "bean"], "one of them"),
        (["--plants", "5", "--crop", "tomatoe plant"], "no crop"),
        (["--tank", "1 gal", "--timer", "--minutes", "0"], "--minutes"),
        (["--tank", "1 gal", "--timer", "--shake", "nan"], "--shake"),
        (["--tank", "1 gal", "--timer", "--oil", "none"], "--timer"),
        ([], "how much"),
    ],
)
def test_bad_input_is_one_line_and_exit_code_2(arguments: list[str], says: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert says in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_json_adds_up() -> None:
    record = json.loads(run("--plants", "12", "--crop", "pepper", "--tank", "1 L", "--json").stdout)
    assert record["made_ml"] - record["needed_ml"][1] == pytest.approx(record["leftover_ml"], abs=0.02)
    for fill in record["fills"]:
        poured = sum(measure["ml"] for measure in fill["measures"])
        assert fill["water_ml"] + poured == pytest.approx(fill["ml"], abs=0.02)


def test_why_tells_that_the_drop_size_is_an_assumption() -> None:
    text = " ".join(run("--tank", "1 gal", "--why").stdout.split())
    assert "Drops of 50 micrometres are an assumption" in text
    assert "Stokes' law" in text
    assert "assumption" not in run("--tank", "1 gal").stdout


def test_safety_shows_the_rules_of_the_country_first() -> None:
    shop = Shop(plain=True, today=date(2024, 6, 1))
    text = CliRunner().invoke(safety, ["--country", "GB", "--sources"], obj=shop).stdout
    assert text.index("United Kingdom") < text.index("Eyes, skin") < text.index("Rules: United States")
    assert max(len(line) for line in text.splitlines()) <= 80


class FakeTime:
    """A clock that only moves when it is slept on."""

    def __init__(self, nap: float = 0.0, stop_at: float = float("inf")) -> None:
        self.now, self.nap, self.stop_at = 100.0, nap, stop_at

    def clock(self) -> float:
        return self.now

    def sleep(self, seconds: float) -> None:
        assert seconds > 0
        self.now += seconds + self.nap
        self.nap = 0.0
        if self.now >= self.stop_at:
            raise KeyboardInterrupt


def ring(time: FakeTime, interval: float, whole: float) -> tuple[int, list[float], str]:
    rings: list[float] = []
    out = io.StringIO()
    rung = run_timer(interval, whole, screen(True, out), time.clock, time.sleep, lambda: rings.append(time.now - 100))
    return rung, rings, out.getvalue()


def test_the_timer_rings_at_each_shake() -> None:
    rung, rings, text = ring(FakeTime(), 210, 900)
    assert rung == len(rings) == 4
    assert rings == pytest.approx([210, 420, 630, 840], abs=1)
    assert text.count("Shake now") == 4
    assert "Time is up" in text


def test_a_computer_that_slept_rings_once_and_goes_on_from_there() -> None:
    _, rings, _ = ring(FakeTime(nap=1000), 210, 1500)
    assert rings == pytest.approx([1000, 1210, 1420], abs=1)


def test_ctrl_c_ends_the_timer_in_words() -> None:
    rung, _, text = ring(FakeTime(stop_at=400), 210, 900)
    assert rung == 1
    assert text.rstrip().endswith("Stopped.")


def test_the_bar_is_drawn_on_a_terminal() -> None:
    from rich.console import Console

    from triage.screens.console import Screen

    out = io.StringIO()
    console = Console(file=out, force_terminal=True, width=80)
    time = FakeTime()
    run_timer(30, 40, Screen(console, plain=False), time.clock, time.sleep, lambda: None)
    assert "shake in 0:15" in out.getvalue()


@pytest.mark.parametrize(
    ("seconds", "words"), [(30, "½ min"), (60, "1 min"), (90, "1½ min"), (210, "3½ min"), (100, "1 min 40 s")]
)
def test_minutes_in_words(seconds: float, words: str) -> None:
    assert minutes(seconds) == words


def test_what_the_garden_holds_is_taken_where_nothing_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TRIAGE_TANK", "2 L")
    monkeypatch.setenv("TRIAGE_SOAP", "detergent")
    monkeypatch.setenv("TRIAGE_OILS", "rosemary")
    monkeypatch.setenv("TRIAGE_COUNTRY", "GB")
    text = run().stdout
    assert "To mix 2 litres" in text
    assert "detergent" in text
    assert "rosemary oil" in text
    assert text.index("offence") < text.index("To mix")
    assert "To mix 1 imperial gallon" in run("--tank", "1 gal").stdout
