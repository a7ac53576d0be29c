from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.reasoning.library import knowledge_folder
from triage.reasoning.yaml_text import BadInput
from triage.spraying.mite_ask import kill_of, schedule_of, warmth_of
from triage.spraying.mite_knowledge import load_mites
from triage.spraying.mite_life import growing_days, growth, usual_life
from triage.spraying.mites import Kill, TooCold, best_interval, compare, every, project
from triage.spraying.weather import Day, Weather

MITES = load_mites(knowledge_folder())
GOOD = Kill(0.8, 0.2)
TODAY = date(2026, 7, 4)

share = st.floats(0, 1)
warmth = st.floats(15, 35)


@settings(max_examples=25, deadline=None)
@given(warmth, share, share)
def test_sprays_never_make_more_mites_and_days_won_say_so(celsius: float, crawling: float, eggs: float) -> None:
    none, three = project(celsius, [(), every(3, 3)], Kill(crawling, eggs), MITES)
    assert all(a <= b * (1 + 1e-9) for a, b in zip(three.total, none.total, strict=True))
    assert three.days_won >= -1e-9
    assert none.days_won == 0


@settings(max_examples=25, deadline=None)
@given(warmth)
def test_a_colony_left_alone_grows_at_its_own_rate(celsius: float) -> None:
    [alone] = project(celsius, [()], GOOD, MITES)
    ratios = [b / a for a, b in zip(alone.total, alone.total[1:], strict=False)]
    assert ratios == pytest.approx([ratios[0]] * len(ratios), rel=1e-6)
    assert alone.total[0] == pytest.approx(1000)


@settings(max_examples=20, deadline=None)
@given(warmth, st.floats(1, 1e6))
def test_the_start_only_scales(celsius: float, start: float) -> None:
    thousand, other = (project(celsius, [every(4, 3)], GOOD, MITES, start=n)[0] for n in (1000.0, start))
    assert other.end == pytest.approx(thousand.end * start / 1000)
    assert other.days_won == pytest.approx(thousand.days_won)


@settings(max_examples=20, deadline=None)
@given(warmth, st.floats(0.05, 0.9), st.floats(0, 0.9), st.floats(0.01, 0.1))
def test_a_stronger_spray_wins_more(celsius: float, crawling: float, eggs: float, more: float) -> None:
    weak, strong = (project(celsius, [every(3, 3)], Kill(k, eggs), MITES)[0] for k in (crawling, crawling + more))
    assert strong.days_won > weak.days_won


def test_a_spray_counts_on_its_own_day() -> None:
    [curve] = project(25, [(0,)], GOOD, MITES)
    [alone] = project(25, [()], GOOD, MITES)
    assert curve.eggs[0] == pytest.approx(0.8 * alone.eggs[0])
    assert curve.crawling[0] == pytest.approx(0.2 * alone.crawling[0])


def test_a_spray_that_kills_all_leaves_nothing() -> None:
    [curve] = project(25, [(2,)], Kill(1, 1), MITES)
    assert curve.end == 0
    assert curve.days_won == float("inf")
    assert curve.back_on(1000) is None
    assert curve.back_for_good(1000) is None


def test_back_at_the_start_between_two_sprays_is_told() -> None:
    """At 30 C a gap of seven days lets them pass the start before the second spray."""
    [curve] = project(30, [every(7, 3)], GOOD, MITES)
    assert curve.back_on(1000) == 4
    assert curve.back_on(1000, after=14) == 15
    [cool] = project(20, [every(3, 3)], GOOD, MITES)
    assert cool.back_on(1000) == cool.back_for_good(1000) == 19


def test_days_all_alike_grow_like_one_life() -> None:
    """Days that swing by 5 C about a mean: the same rate each day, by the other pair of constants."""
    days = [(20.0, 30.0)] * 60
    [alone] = project(days, [()], GOOD, MITES)
    life = usual_life(days, MITES)
    assert alone.total[28] == pytest.approx(1000 * growth(life, MITES.projection.step_days) ** 280, rel=1e-6)
    assert life.egg_to_adult_days == pytest.approx(150.69 / (25 - 8.63))


def test_warm_days_grow_faster_than_cool_ones() -> None:
    cool, warm = (project([(t, t + 10.0)] * 20, [()], GOOD, MITES)[0].end for t in (12.0, 18.0))
    assert warm > 5 * cool


def test_a_cold_spell_halts_them() -> None:
    days = [(18.0, 28.0)] * 5 + [(2.0, 8.0)] * 5 + [(18.0, 28.0)] * 30
    [curve] = project(days, [()], GOOD, MITES)
    assert curve.eggs[10] <= curve.eggs[6] * 1.02
    assert curve.total[15] > curve.total[10]


def test_after_the_last_day_the_mean_of_the_last_week_is_held() -> None:
    short, long = [(15.0, 25.0)] * 10, [(15.0, 25.0)] * 60
    assert project(short, [every(3, 3)], GOOD, MITES) == project(long, [every(3, 3)], GOOD, MITES)


def test_too_cold() -> None:
    assert best_interval(10.5, MITES) is None
    assert best_interval([(0.0, 8.0)] * 10, MITES) is None
    with pytest.raises(TooCold):
        compare(10.5, MITES, GOOD)


def test_the_best_gap_shrinks_as_it_warms_and_follows_the_egg() -> None:
    gaps = [best_interval(celsius, MITES) for celsius in (18, 20, 22, 25, 28, 30, 33)]
    days = [gap.days for gap in gaps if gap]
    assert days == sorted(days, reverse=True)
    assert all(abs(gap.days - gap.egg_days) <= 1 for gap in gaps if gap)


def test_a_comparison_as_a_record() -> None:
    record = compare(25, MITES, GOOD, given=[(0, 2)]).as_record()
    names = [schedule["name"] for schedule in record["schedules"]]
    expected = ["no spray", "every 7 days, 3 times", "every 3 days, 3 times", "every 4.5 days, 3 times", "on day 0, 2"]
    assert names == expected
    assert record["best_interval"]["days"] == 4.5
    assert all(len(schedule["eggs"]) == 29 for schedule in record["schedules"])


def test_weather_days_and_gaps() -> None:
    days = [Day(date(2026, 7, n), low=15, high=25) for n in (4, 5, 7)]
    assert growing_days(Weather("w.csv", tuple(days)), TODAY) == [(15, 25)] * 4
    far = Weather("w.csv", (days[0], Day(date(2026, 7, 12), low=15, high=25)))
    with pytest.raises(BadInput, match="missing from 2026-07-05"):
        growing_days(far, TODAY)
    with pytest.raises(BadInput, match="the file holds 2026-07-04 to 2026-07-12"):
        growing_days(far, date(2026, 8, 1))


def test_what_is_asked_in_words() -> None:
    assert warmth_of(None, None, None, TODAY)[0] == 25
    assert warmth_of("68F", None, None, TODAY) == (20, "20 C (68 F) day and night")
    assert "a guess" in warmth_of("13C", None, None, TODAY)[1]
    assert schedule_of("0, 2.5,5", 28) == (0, 2.5, 5)
    assert kill_of("good", None, None, MITES)[1] == GOOD
    assert kill_of(None, 80, None, MITES) == (None, Kill(0.8, 0))


@pytest.mark.parametrize("text", ["soon", "3,0", "0,0", "-1", "0,99", ""])
def test_no_schedules(text: str) -> None:
    with pytest.raises(BadInput, match="--sprays"):
        schedule_of(text, 28)


@pytest.mark.parametrize(("mix", "kill", "eggs"), [("strong", None, None), ("good", 80, None), (None, None, 20)])
def test_no_kills(mix: str | None, kill: float | None, eggs: float | None) -> None:
    with pytest.raises(BadInput):
        kill_of(mix, kill, eggs, MITES)


@pytest.mark.parametrize("at", ["5C", "60F_", "45C", "hot"])
def test_no_temperatures(at: str) -> None:
    with pytest.raises(BadInput, match="--at"):
        warmth_of(at, None, None, TODAY)


def test_a_broken_file_names_line_and_field(tmp_path: Path) -> None:
    text = (knowledge_folder() / "mites.yaml").read_text(encoding="utf-8")
    (tmp_path / "mites.yaml").write_text(text.replace("base_c: 11.63", "base_c: cold"), encoding="utf-8")
    with pytest.raises(BadInput, match=r"mites.yaml, line \d+, steady.base_c"):
        load_mites(tmp_path)
    (tmp_path / "mites.yaml").write_text(text.replace("usual_mix: home", "usual_mix: tea"), encoding="utf-8")
    with pytest.raises(BadInput, match="usual_mix names 'tea'"):
        load_mites(tmp_path)
