from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.reasoning.library import knowledge_folder
from triage.reasoning.yaml_text import BadInput
from triage.spraying.holds import Plants, day_report, next_clear, told_day, washed_off
from triage.spraying.weather import Day, Weather
from triage.spraying.weather_knowledge import HoldRules, Rule, load_holds

ON = date(2026, 7, 4)
FAIR = Day(ON, low=14, high=24, rain=0, wind=8, humidity=60)
RULES = load_holds(knowledge_folder())


def held(day: Day = FAIR, plants: Plants | None = None) -> dict[str, str]:
    report = day_report(ON, day, plants or Plants(), RULES)
    return {reason.id: reason.kind for reason in report.reasons}


def file_of(*days: Day) -> Weather:
    return Weather("garden.csv", tuple(replace(day, on=ON + timedelta(days=n)) for n, day in enumerate(days)))


def test_a_fair_day_is_clear() -> None:
    report = day_report(ON, FAIR, Plants(), RULES)
    assert report.clear
    assert not report.reasons


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"high": 29.0}, {"heat": "hold"}),
        ({"high": (85 - 32) * 5 / 9}, {"heat": "hold"}),
        ({"high": (84 - 32) * 5 / 9}, {"heat": "care"}),
        ({"high": 27.0}, {"heat": "care"}),
        ({"high": 26.9}, {}),
        ({"low": 0.0}, {"freezing": "hold", "cold": "care"}),
        ({"low": 0.1}, {"cold": "care"}),
        ({"low": 4, "high": 9.9}, {"cold": "hold"}),
        ({"low": 10.0, "high": 10.0}, {}),
        ({"rain": 0.2}, {"rain": "hold"}),
        ({"rain": 0.254}, {"rain": "hold"}),
        ({"rain": 0.1}, {"rain": "care"}),
        ({"rain": 0.0, "trace": True}, {"rain": "care"}),
        ({"wind": 8 * 1.609344}, {}),
        ({"wind": 13.0}, {"wind": "hold"}),
        ({"wind": 4.0}, {"wind": "care"}),
        ({"humidity": 90.0}, {"damp": "hold"}),
        ({"humidity": 80.0}, {"damp": "care"}),
        ({"high": None}, {"heat": "unknown"}),
        ({"rain": None}, {"rain": "unknown"}),
        ({"wind": None, "humidity": None}, {}),
    ],
)
def test_each_weather_limit(change: dict[str, float], expected: dict[str, str]) -> None:
    assert held(replace(FAIR, **change)) == expected  # type: ignore[arg-type]


def ago(days: int) -> date:
    return ON - timedelta(days=days)


@pytest.mark.parametrize(
    ("plants", "expected"),
    [
        (Plants(thirsty=True), {"thirst": "hold"}),
        (Plants(in_bloom=True), {"bloom": "hold"}),
        (Plants(in_bloom=True, bloom_over=ON), {}),
        (Plants(harvest=ON), {"harvest": "hold"}),
        (Plants(harvest=ON + timedelta(days=1)), {"harvest": "hold"}),
        (Plants(harvest=ON + timedelta(days=2)), {}),
        (Plants(harvest=ago(1)), {}),
        (Plants(last_sulfur=ago(29)), {"sulfur": "hold"}),
        (Plants(last_sulfur=ago(30)), {}),
        (Plants(last_spray=ago(2)), {"spray": "hold"}),
        (Plants(last_spray=ago(3)), {}),
        (Plants(last_oil=ago(13)), {"oil": "hold"}),
        (Plants(last_oil=ago(14)), {}),
        (Plants(last_shock=ago(2)), {"shock": "hold"}),
        (Plants(last_shock=ago(3)), {"shock": "care"}),
        (Plants(last_shock=ago(7)), {}),
        (Plants(last_sulfur=ON + timedelta(days=3)), {}),
    ],
)
def test_each_limit_of_the_plants(plants: Plants, expected: dict[str, str]) -> None:
    assert held(plants=plants) == expected


def test_a_hold_names_its_number_its_source_and_who_disagrees() -> None:
    [heat] = day_report(ON, replace(FAIR, high=31), Plants(), RULES).of("hold")
    assert "31 C (88 F)" in heat.found
    assert heat.limit == "29 C (85 F)"
    assert "wsu_oil_damage" in heat.sources
    assert "80 to 100 F" in heat.disagree


def test_frost_in_the_night_after_holds() -> None:
    weather = file_of(FAIR, replace(FAIR, low=-1.0))
    assert [r.id for r in day_report(ON, weather, Plants(), RULES).of("hold")] == ["freezing"]


def test_a_rough_answer_is_not_handed_back_as_a_figure() -> None:
    [heat] = day_report(ON, replace(FAIR, high=31, asked=True), Plants(), RULES).of("hold")
    assert heat.found == "as you say"


def test_next_clear_by_the_weather() -> None:
    hot, wet = replace(FAIR, high=33), replace(FAIR, rain=5.0)
    weather = file_of(hot, wet, FAIR)
    found = next_clear(ON, weather, Plants(), RULES)
    assert found is not None
    assert (found.on, found.weather_known) == (ON + timedelta(days=2), True)


def test_next_clear_waits_for_sulfur_beyond_the_file() -> None:
    found = next_clear(ON, file_of(FAIR, FAIR), Plants(last_sulfur=ago(20)), RULES)
    assert found is not None
    assert (found.on, found.weather_known) == (ON + timedelta(days=10), False)


def test_a_day_missing_from_the_file_is_not_clear() -> None:
    days = (FAIR, replace(FAIR, on=ON + timedelta(days=2)))
    weather = Weather("garden.csv", days)
    report = day_report(ON + timedelta(days=1), weather, Plants(), RULES)
    assert [r.kind for r in report.reasons] == ["unknown"]
    found = next_clear(ON, weather, Plants(), RULES)
    assert found is not None
    assert found.on == ON + timedelta(days=2)


def test_thirsty_plants_are_clear_the_day_after_watering() -> None:
    found = next_clear(ON, file_of(FAIR, FAIR), Plants(thirsty=True), RULES)
    assert found is not None
    assert found.on == ON + timedelta(days=1)


def test_open_flowers_give_no_date_until_somebody_tells_one() -> None:
    assert next_clear(ON, None, Plants(in_bloom=True), RULES) is None
    over = Plants(in_bloom=True, bloom_over=ON + timedelta(days=9))
    found = next_clear(ON, None, over, RULES)
    assert found is not None
    assert found.on == ON + timedelta(days=9)


def test_a_dry_week_warns() -> None:
    weather = file_of(*[FAIR] * 8)
    report = day_report(ON + timedelta(days=7), weather, Plants(), RULES)
    assert [r.id for r in report.reasons] == ["dry_spell"]
    rained = file_of(replace(FAIR, rain=6.0), *[FAIR] * 7)
    assert not day_report(ON + timedelta(days=7), rained, Plants(), RULES).reasons


@pytest.mark.parametrize(("rain", "expected"), [(3.0, True), (0.0, False), (None, None)])
def test_rain_on_the_day_of_a_spray(rain: float | None, expected: bool | None) -> None:
    weather = file_of(replace(FAIR, rain=rain))
    assert washed_off(ON, weather, RULES) is expected
    assert washed_off(ago(1), weather, RULES) is None


def test_told_days() -> None:
    day = told_day(ON, "77F", False, "6mph", RULES)
    assert day.high == pytest.approx(25)
    assert (day.rain, day.low) == (0, None)
    assert held(told_day(ON, "77F", True, None, RULES)) == {"rain": "hold"}
    assert held(told_day(ON, None, None, None, RULES)) == {"heat": "unknown", "rain": "unknown"}
    with pytest.raises(BadInput, match="write 25C or 77F"):
        told_day(ON, "hot", None, None, RULES)


days = st.builds(
    Day,
    on=st.just(ON),
    low=st.none() | st.floats(-10, 20),
    high=st.none() | st.floats(20, 40),
    rain=st.none() | st.floats(0, 30),
    wind=st.none() | st.floats(0, 40),
    humidity=st.none() | st.floats(0, 100),
)
since = st.none() | st.integers(0, 40).map(ago)
plantings = st.builds(
    Plants,
    thirsty=st.booleans(),
    in_bloom=st.just(False),
    harvest=st.none() | st.integers(-3, 20).map(lambda n: ON + timedelta(days=n)),
    last_sulfur=since,
    last_spray=since,
    last_oil=since,
    last_shock=since,
)


@given(st.lists(days, min_size=1, max_size=12), plantings)
def test_the_next_clear_date_is_clear_and_none_before_it_is(found: list[Day], plants: Plants) -> None:
    weather = file_of(*found)
    following = next_clear(ON, weather, plants, RULES)
    assert following is not None
    for n in range(1, (following.on - ON).days + 1):
        on = ON + timedelta(days=n)
        if on <= weather.last:
            assert day_report(on, weather, plants, RULES, today=ON).clear == (on == following.on)
    assert following.weather_known == (following.on <= weather.last)


@given(days, plantings)
def test_dated_holds_are_over_on_the_day_they_name(day: Day, plants: Plants) -> None:
    for reason in day_report(ON, day, plants, RULES).of("hold"):
        if reason.clear_on is not None:
            later = day_report(reason.clear_on, None, plants, RULES, today=ON)
            assert reason.id not in {r.id for r in later.of("hold")}
            before = day_report(reason.clear_on - timedelta(days=1), None, plants, RULES, today=ON)
            assert reason.id in {r.id for r in before.of("hold")}


def test_what_is_told_fits_the_number_reckoned_with() -> None:
    for name, rule in RULES:
        if not isinstance(rule, Rule):
            continue
        for figure in (rule.number, rule.care):
            if figure is None or name in ("bloom", "thirst"):
                continue
            first = float(figure.told.split()[0].rstrip("%"))
            assert abs(first - figure.value) < 0.5, name
            if figure.unit == "C":
                told_f = float(figure.told.split("(")[1].split()[0])
                assert abs(told_f - (figure.value * 9 / 5 + 32)) <= 1, name


def test_a_broken_file_names_line_and_field(tmp_path: Path) -> None:
    text = (knowledge_folder() / "weather_holds.yaml").read_text(encoding="utf-8")
    (tmp_path / "weather_holds.yaml").write_text(text.replace("unit: mm", "unit: drops"), encoding="utf-8")
    with pytest.raises(BadInput, match=r"weather_holds.yaml, line \d+, rain.number.unit"):
        load_holds(tmp_path)
    (tmp_path / "weather_holds.yaml").write_text("", encoding="utf-8")
    with pytest.raises(BadInput, match="is empty"):
        load_holds(tmp_path)


def test_rules_are_what_the_command_uses() -> None:
    assert isinstance(RULES, HoldRules)
    assert RULES.washed_off.sources
