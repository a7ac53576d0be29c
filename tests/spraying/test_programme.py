from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.reasoning.library import knowledge_folder
from triage.reasoning.yaml_text import BadInput
from triage.records.waits import load_waits
from triage.spraying.gap import Gap, gap_for
from triage.spraying.holds import Plants, day_report
from triage.spraying.layout import lay_out
from triage.spraying.mite_knowledge import load_mites
from triage.spraying.patches import Mixed, Standing, Tried, standing
from triage.spraying.planned import Told, new_outset, updated
from triage.spraying.programme import Judgement, Look, Outset, Programme, Since, Step, from_data, to_data
from triage.spraying.programme_knowledge import load_programme
from triage.spraying.weather import Day, Weather
from triage.spraying.weather_knowledge import load_holds

RULES, HOLDS = load_programme(knowledge_folder()), load_holds(knowledge_folder())
MITES = load_mites(knowledge_folder())
START = date(2026, 7, 1)
MITE = "two_spotted_spider_mite"
CLEAN = Standing("clean", "The patch stayed clean.")
WORTH = Judgement("spray", "kills_on_contact", MITE, "Spider mite", "a visit")
EVERY3 = Gap(3, 3)
BARE = Outset(START, WORTH, EVERY3, START)


def day(n: int) -> date:
    return START + timedelta(days=n)


def days(*numbers: int) -> tuple[date, ...]:
    return tuple(day(n) for n in numbers)


def laid(outset: Outset = BARE, today: int = 0, patch: Standing = CLEAN, **since: object) -> Programme:
    return lay_out(outset, Since(patch, **since), RULES, HOLDS, day(today))  # type: ignore[arg-type]


def numbers(programme: Programme, *, kind: str = "spray") -> list[int]:
    return [(step.on - START).days for step in programme.steps if step.kind == kind]


def weather(changes: dict[int, dict[str, float]], length: int = 60) -> tuple[Day, ...]:
    fair = Day(START, low=15, high=24, rain=0, wind=8, humidity=60)
    return tuple(replace(fair, on=day(n), **changes.get(n, {})) for n in range(length))  # type: ignore[arg-type]


# -- starting ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"patch": Standing("none", "No patch.", "Try it first.")}, "patch"),
        ({"patch": Standing("burnt", "It burnt.", "Do not spray.")}, "patch"),
        ({"removed": START}, "standing"),
        ({"outset": replace(BARE, judgement=replace(WORTH, advice="do_not_spray", instead=("Net it.",)))}, "verdict"),
        ({"outset": replace(BARE, judgement=replace(WORTH, advice="check_first"))}, "verdict"),
    ],
)
def test_nothing_is_dated_before_every_start_rule_is_met(change: dict[str, object], rule: str) -> None:
    programme = laid(**change)  # type: ignore[arg-type]
    assert not programme.go and programme.steps == ()
    assert [start.id for start in programme.starts if not start.met] == [rule]
    unmet = next(start for start in programme.starts if start.id == rule)
    assert programme.instead[: len(unmet.instead)] == unmet.instead


MIX = Mixed("home mix", 0.26, 0.39)


@pytest.mark.parametrize(
    ("tried", "state"),
    [
        ([], "none"),
        ([Tried(day(-3), MIX, "Blue Lake", result="clean", looked_on=day(-1))], "clean"),
        ([Tried(day(-3), MIX, "Blue Lake")], "open"),
        ([Tried(day(-3), MIX, "Blue Lake", result="clean", looked_on=day(-2))], "too_soon"),
        ([Tried(day(-90), MIX, "Blue Lake", result="clean", looked_on=day(-80))], "too_old"),
        ([Tried(day(-3), MIX, "Cobra", result="clean", looked_on=day(-1))], "none"),
        ([Tried(day(-3), MIX, "Cobra", same_planting=True, result="clean", looked_on=day(-1))], "clean"),
        ([Tried(day(-3), Mixed("soap only"), "Blue Lake", result="clean", looked_on=day(-1))], "none"),
        ([Tried(day(-3), Mixed("Home mix", 0.13, 0.2), "blue lake", result="clean", looked_on=day(-1))], "weaker"),
        ([Tried(day(-3), Mixed("home mix", 0.4, 0.5), "Blue Lake", result="clean", looked_on=day(-1))], "clean"),
        (
            [
                Tried(day(-9), MIX, "Blue Lake", result="clean", looked_on=day(-7)),
                Tried(day(-3), Mixed("home mix", 0.1, 0.1), "Blue Lake", result="burnt", looked_on=day(-1)),
            ],
            "burnt",
        ),
    ],
)
def test_only_a_clean_patch_of_this_mix_on_this_crop_and_variety_counts(tried: list[Tried], state: str) -> None:
    found = standing(tried, MIX, "Blue Lake", START, RULES.test_patch)
    assert found.state == state
    assert found.clean or found.instead


def test_the_wait_of_the_patch_is_the_one_the_journal_reminds_of() -> None:
    assert RULES.test_patch.first_look_days == load_waits(knowledge_folder()).test_patch.days == 2


# -- the usual course -------------------------------------------------------------------------


def test_three_rounds_a_look_then_wider_and_wider() -> None:
    programme = laid()
    assert programme.go
    assert numbers(programme) == [0, 3, 6, 13, 20, 30, 44]
    assert numbers(programme, kind="look") == [9, 47]
    assert all(step.only_if for step in programme.steps[4:])
    assert programme.stopped is None


def test_a_done_spray_moves_the_rest_and_says_so() -> None:
    programme = laid(today=5, done=days(0, 5))
    assert numbers(programme)[:4] == [0, 5, 8, 15]
    third = programme.steps[2]
    assert (third.laid_out, third.moved[0].reason) == (day(6), "spray_before")
    assert "2 days later" in third.moved[0].why


def test_what_was_not_done_is_due_today() -> None:
    step = laid(today=4, done=days(0)).following
    assert step is not None and (step.on, step.moved[0].reason) == (day(4), "not_done")


def test_too_long_a_pause_begins_the_rounds_anew() -> None:
    programme = laid(today=20, done=days(0, 3))
    assert [step.says for step in programme.steps[:5] if step.kind == "spray"][2:] == [
        "Round 1 of 3", "Round 2 of 3", "Round 3 of 3",
    ]  # fmt: skip
    assert RULES.broken.says in programme.notes


def test_not_clean_goes_on_and_then_changes_the_means() -> None:
    once = laid(today=9, done=days(0, 3, 6), looks=(Look(day(9), "hit"),))
    assert numbers(once)[:6] == [0, 3, 6, 9, 12, 15]
    again = laid(today=18, done=days(0, 3, 6, 9, 12, 15), looks=(Look(day(9), "hit"), Look(day(18), "hit")))
    assert again.stopped is not None and again.stopped.id == "no_effect"
    assert again.ahead == () and again.instead == RULES.no_effect.instead


def test_hit_again_later_goes_back_to_rounds() -> None:
    looks = (Look(day(9), "clean"), Look(day(15), "hit"))
    programme = laid(today=15, done=days(0, 3, 6, 13), looks=looks)
    assert [step.stage for step in programme.ahead[:4]] == ["outbreak", "outbreak", "outbreak", "look"]
    assert numbers(programme)[4:7] == [16, 19, 22]


def test_two_spotless_looks_end_it() -> None:
    first = laid(today=9, done=days(0, 3, 6), looks=(Look(day(9), "clean", False),))
    assert first.following is not None and first.following.on == day(16)
    second = laid(today=16, done=days(0, 3, 6), looks=(Look(day(9), "clean", False), Look(day(16), "clean", False)))
    assert second.stopped is not None and second.stopped.id == "clean_for_good"


def test_burnt_leaves_end_it() -> None:
    programme = laid(today=4, done=days(0, 3), looks=(Look(day(4), burnt=True),))
    assert programme.stopped is not None and programme.stopped.id == "burnt" and programme.ahead == ()


def test_a_later_visit_that_says_no_ends_it() -> None:
    programme = laid(today=3, done=days(0), no_longer="Helpers do the work.")
    assert programme.stopped is not None and programme.stopped.id == "no_longer"
    assert (programme.ahead, programme.instead) == ((), ("Helpers do the work.",))


# -- weather, picking, sulfur -----------------------------------------------------------------


def test_holds_shift_and_say_why() -> None:
    outset = replace(BARE, weather_file="garden.csv", weather_days=weather({3: {"high": 31}, 4: {"rain": 5}}))
    second = laid(outset).steps[1]
    assert second.on == day(5)
    assert [(move.off, move.reason) for move in second.moved] == [(day(3), "heat"), (day(4), "rain")]
    assert second.weather_known


def test_a_spray_washed_off_is_done_again_and_counts_not() -> None:
    outset = replace(BARE, weather_file="garden.csv", weather_days=weather({3: {"rain": 5}}))
    programme = laid(outset, today=3, done=days(0, 3))
    assert [step.id for step in programme.steps[:4]] == ["outbreak-1", "outbreak-2", "outbreak-2-again", "outbreak-3"]
    assert programme.steps[1].washed_off and numbers(programme)[:4] == [0, 3, 4, 7]
    dried = laid(replace(outset, dried=days(3)), today=3, done=days(0, 3))
    assert [step.id for step in dried.steps[:3]] == ["outbreak-1", "outbreak-2", "outbreak-3"]
    # One that came too early and was washed off does not bring its repeat nearer to the one that counts.
    early = replace(outset, gap=Gap(4, 3), weather_days=weather({6: {"rain": 5}}))
    assert numbers(laid(early, today=6, done=days(0, 4, 6)))[:4] == [0, 4, 6, 8]


def test_picking_sulfur_and_other_sprays_keep_their_gaps() -> None:
    picked = laid(replace(BARE, harvests=days(4)))
    assert numbers(picked)[:3] == [0, 5, 8]
    assert {move.reason for move in picked.steps[1].moved} == {"harvest"}
    sulfur = laid(replace(BARE, plants=Plants(last_sulfur=day(-20))))
    assert sulfur.steps[0].on == day(-20) + timedelta(days=int(HOLDS.sulfur.number.value))
    assert laid(sulfur=days(-20)).steps[0].on == sulfur.steps[0].on
    assert laid(other_sprays=days(-1)).steps[0].on == day(2)


def test_flowers_without_an_end_leave_the_spray_undated() -> None:
    programme = laid(replace(BARE, plants=Plants(in_bloom=True)))
    assert programme.go and programme.steps == ()
    assert [move.reason for move in programme.waits] == ["bloom"]
    assert laid(replace(BARE, plants=Plants(in_bloom=True, bloom_over=day(8)))).steps[0].on == day(8)


# -- the gap ----------------------------------------------------------------------------------


def warm(low: float, high: float) -> Weather:
    return Weather("garden.csv", tuple(Day(day(n), low, high, 0) for n in range(20)))


def test_the_gap_follows_the_warmth_for_spider_mites_only() -> None:
    cool, hot = (gap_for(MITE, warm(*pair), START, MITES, RULES, 3) for pair in ((15, 25), (26, 34)))
    assert cool.differs and 5 <= cool.days <= 7 and "in place of the usual 3" in cool.says
    assert not hot.differs and hot.days == 3
    assert gap_for("green_peach_aphid", warm(15, 25), START, MITES, RULES, 3) == Gap(3, 3)
    assert gap_for(MITE, None, START, MITES, RULES, 3) == Gap(3, 3)
    assert "does not hold" in gap_for(MITE, warm(15, 25), day(40), MITES, RULES, 3).says
    assert "hardly grow" in gap_for(MITE, warm(2, 8), START, MITES, RULES, 3).says


def test_scent_mask_only_spaced_and_ended_as_told() -> None:
    outset = replace(BARE, scent=True, judgement=replace(WORTH, advice="do_not_spray"))
    programme = laid(outset)
    assert programme.go and numbers(programme) == [0, 7, 14]
    assert programme.steps[1].until == day(10)
    assert not laid(replace(outset, judgement=replace(WORTH, effect="makes_worse", advice="do_not_spray"))).go
    assert laid(outset, today=14, done=days(0, 7, 14)).stopped is not None


# -- what was said ----------------------------------------------------------------------------


def test_what_is_said_later_is_added_and_the_rest_stays() -> None:
    def gap_of(cause: str | None, told: Weather | None, start: date) -> Gap:
        return gap_for(cause, told, start, MITES, RULES, 3)

    first = new_outset(WORTH, Told(harvests=days(9), bloom=True), START, RULES, gap_of)
    later = updated(first, Told(weather=warm(15, 25), bloom_over=day(4), dried=days(0)), day(2), RULES, gap_of)
    assert (later.harvests, later.plants.bloom_over, later.seen) == (days(9), day(4), day(2))
    assert later.gap.differs and later.weather is not None
    new = Weather("other.csv", (Day(day(19), 10, 20, 3),))
    merged = updated(later, Told(weather=new), day(3), RULES, gap_of).weather
    assert merged is not None and merged.on(day(19)) == new.days[0] and merged.on(day(0)) == warm(15, 25).on(day(0))
    assert updated(later, Told(bloom=False), day(3), RULES, gap_of).plants.in_bloom is False


def test_outset_survives_the_journal() -> None:
    outset = replace(
        BARE, weather_file="g.csv", weather_days=weather({}, 3), harvests=days(5), looks=(Look(day(9), "hit", True),)
    )
    assert from_data(to_data(outset)) == outset
    with pytest.raises(BadInput, match="start"):
        from_data({**to_data(outset), "start": "soon"})


# -- whatever happens -------------------------------------------------------------------------

WEATHER = st.dictionaries(
    st.integers(0, 40),
    st.sampled_from([{"high": 33.0}, {"rain": 4.0}, {"wind": 20.0}, {"low": -1.0}]),
    max_size=14,
)
LOOKS = st.lists(
    st.builds(
        Look,
        st.integers(0, 50).map(day),
        st.sampled_from(["clean", "hit", None]),
        st.sampled_from([True, False, None]),
        st.sampled_from([False, False, False, True]),
    ),
    max_size=5,
)
SPANS = st.lists(st.integers(0, 40), max_size=9, unique=True).map(sorted)


@settings(max_examples=120, deadline=None)
@given(
    WEATHER,
    LOOKS,
    SPANS,
    st.integers(0, 45),
    st.lists(st.integers(0, 40), max_size=2),
    st.integers(3, 7),
    st.booleans(),
)
def test_never_too_close_never_on_a_held_day_never_past_a_stop(
    changes: dict[int, dict[str, float]],
    looks: list[Look],
    done: list[int],
    today: int,
    picked: list[int],
    gap: int,
    scent: bool,
) -> None:
    done = [n for n in done if n <= today]
    looks = [look for look in looks if look.on <= day(today)]
    outset = replace(
        BARE, gap=Gap(gap, 3), weather_file="g.csv", weather_days=weather(changes), harvests=days(*picked), scent=scent
    )
    programme = laid(outset, today, done=days(*done), looks=tuple(looks))
    sprays = [step for step in programme.steps if step.kind == "spray"]
    counted = [step for step in sprays if not step.washed_off]
    least = RULES.scent.every_days[0] if scent else gap
    for before, after in pairwise(counted):
        if not after.done:
            assert (after.on - before.on).days >= least
    for step in sprays:
        if not step.done:
            held(outset, step, day(today))
    assert all(step.on >= day(today) for step in programme.ahead)
    assert len({step.id for step in programme.steps}) == len(programme.steps)
    assert len(sprays) <= RULES.most_sprays.number
    if programme.stopped is not None:
        assert not [step for step in programme.ahead if step.kind == "spray"]
    if any(look.burnt for look in looks):
        assert not [step for step in programme.ahead if step.kind == "spray"]
    assert rounds_in_a_row(programme.steps) <= RULES.no_effect.rounds


def held(outset: Outset, step: Step, today: date) -> None:
    picking = min((on for on in outset.harvests if on >= step.on), default=None)
    report = day_report(step.on, outset.weather if outset.weather and outset.weather.on(step.on) else None,
                        Plants(harvest=picking), HOLDS, today)  # fmt: skip
    assert not report.of("hold"), (step, report)


def rounds_in_a_row(steps: tuple[Step, ...]) -> int:
    """The most rounds that count without a look that found clean new growth, or a later spray, between them."""
    most = row = 0
    for step in steps:
        if step.stage == "outbreak" and not step.washed_off:
            row += 1
        elif step.stage == "later" or "clean" in step.found:
            row = 0
        most = max(most, row)
    return most


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 6), st.integers(0, 6))
def test_a_spray_moved_by_so_many_days_moves_all_that_follows_by_as_many(first: int, late: int) -> None:
    on_time = laid(replace(BARE, start=day(first)), first, done=(day(first),))
    moved = laid(replace(BARE, start=day(first)), first + late, done=(day(first + late),))
    assert [step.on + timedelta(days=late) for step in on_time.steps[1:]] == [step.on for step in moved.steps[1:]]
    assert [step.id for step in on_time.steps] == [step.id for step in moved.steps]
