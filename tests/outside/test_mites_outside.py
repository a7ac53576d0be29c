"""The mite projection against published life tables and an independent reference calculation.

The reference (its method, every number below marked "reference") was worked out for the project's
dossier by another program; "published" figures name their source key.
"""

from __future__ import annotations

import math

import pytest

from triage.reasoning.library import knowledge_folder
from triage.spraying.mite_knowledge import Mites, load_mites
from triage.spraying.mite_life import growth, usual_life
from triage.spraying.mites import Kill, best_interval, doubling_days, every, project, rate_from_table

GOOD = Kill(0.8, 0.2)
WEAK = Kill(0.55, 0.0)
STEP = 0.1


@pytest.fixture(scope="module")
def mites() -> Mites:
    return load_mites(knowledge_folder())


@pytest.fixture(scope="module")
def reference(mites: Mites) -> Mites:
    """The reference grew by one line alone, in the cool too."""
    return mites.model_copy(update={"cool": mites.steady})


# --- published life-table arithmetic ---------------------------------------------------------


@pytest.mark.parametrize(
    ("females", "generation", "rate", "digits"),
    [
        (51.47, 18.31, 0.2152, 4),  # ajas_tsm, 25 C
        (28.5, 12.19, 0.2748, 4),  # ajas_tsm, 30 C
        (20.8, 44.0, 0.069, 3),  # herbert1981, 15 C
        (38.4, 23.4, 0.156, 3),  # herbert1981, 18 C
        (78.27, 14.96, 0.2915, 4),  # turkestani_bean, 25 C
    ],
)
def test_rate_of_published_life_tables(females: float, generation: float, rate: float, digits: int) -> None:
    assert round(rate_from_table(females, generation), digits) == rate


@pytest.mark.parametrize(("rate", "days", "growth_a_day"), [(0.2152, 3.22, 1.2401), (0.2748, 2.52, 1.3163)])
def test_published_doubling_times(rate: float, days: float, growth_a_day: float) -> None:
    """ajas_tsm prints both."""
    assert doubling_days(rate) == pytest.approx(days, abs=0.0051)
    assert math.exp(rate) == pytest.approx(growth_a_day, abs=0.0001)


# --- the speed of life against what others measured ------------------------------------------


@pytest.mark.parametrize("celsius", [15, 25, 30])
def test_rate_lies_within_the_published_spread(mites: Mites, celsius: int) -> None:
    others = [f.value for f in mites.published if f.what == "rate_per_day" and f.at_c == celsius]
    assert len(others) >= 2
    rate = usual_life(celsius, mites).rate
    assert min(others) <= rate <= max(others)
    assert math.log(2) / max(others) <= doubling_days(rate) <= math.log(2) / min(others)


def test_rate_at_20_c_lies_between_its_published_neighbours(mites: Mites) -> None:
    """No readable report of this species at 20 C: herbert1981 at 18 C (0.156) and a sister species at
    20 C (turkestani_bean, 0.18) stand on either side."""
    rate = usual_life(20, mites).rate
    assert 0.156 <= rate <= 0.18
    assert math.log(2) / 0.18 <= doubling_days(rate) <= math.log(2) / 0.156


@pytest.mark.parametrize(("celsius", "lowest", "highest"), [(15, 0.069, 0.08), (20, 0.156, 0.18)])
def test_swinging_days_grow_a_little_faster_than_steady_ones(
    mites: Mites, celsius: int, lowest: float, highest: float
) -> None:
    """The published rates are of steady temperatures; bayu2017 found swinging ones quicker in the cool."""
    swinging = usual_life([(celsius - 5, celsius + 5)], mites).rate
    assert lowest <= swinging <= 1.1 * highest


@pytest.mark.parametrize(
    ("celsius", "days"),
    [
        (15, 141.3 / (15 - 10)),  # herbert1981: 141.3 degree-days above 10 C
        (18, 152.3 / (18 - 10)),  # herbert1981
        (21, 139.8 / (21 - 10)),  # herbert1981
        (15, 29.7),  # cassava_tsm
        (20, 15.9),  # cassava_tsm
        (25, 9.05),  # cassava_tsm
        (30, 6.56),  # cassava_tsm
        (30, 6.93),  # praslicka2004
    ],
)
def test_egg_to_adult_within_a_tenth(mites: Mites, celsius: float, days: float) -> None:
    assert usual_life(celsius, mites).egg_to_adult_days == pytest.approx(days, rel=0.1)


def test_the_eggs_part_of_growing_up(mites: Mites) -> None:
    """eajbsa_tsm, stage by stage at 25 C. Its thresholds rest on two temperatures: a share, not a length, is taken."""
    egg = 63.35 / (25 - 12.87)
    rest = 26.81 / (25 - 12.92) + 30.95 / (25 - 9.45) + 26.17 / (25 - 13.94)
    life = usual_life(25, mites)
    assert life.egg_days / life.egg_to_adult_days == pytest.approx(egg / (egg + rest), abs=0.01)


def test_egg_to_adult_at_15_c_lies_within_the_wide_published_spread_on_swinging_days(mites: Mites) -> None:
    """15.3 (iobc_tsm) to 29.7 days (cassava_tsm): no single figure to be within a tenth of."""
    assert 15.28 <= usual_life([(10, 20)], mites).egg_to_adult_days <= 29.7


@pytest.mark.parametrize(("celsius", "eggs"), [(15, 58.6), (30, 89.1), (35, 71.1)])
def test_eggs_in_a_life_near_the_published(mites: Mites, celsius: float, eggs: float) -> None:
    """praslicka2004, mean over hosts."""
    life = usual_life(celsius, mites)
    assert life.laid * life.lives == pytest.approx(eggs, rel=0.03)


# --- the reference model ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("celsius", "egg", "young", "females", "continuous", "stepped", "stages"),
    [
        (15, 16.687, 21.238, 37.18, 0.0623, 0.0623, (0.695, 0.259, 0.047)),
        (20, 6.719, 8.551, 48.49, 0.1517, 0.1511, (0.682, 0.263, 0.054)),
        (25, 4.206, 5.353, 53.34, 0.2422, 0.2406, (0.681, 0.264, 0.056)),
        (30, 3.061, 3.896, 56.9, 0.3422, 0.3391, (0.694, 0.254, 0.052)),
        (35, 2.406, 3.063, 46.55, 0.4036, 0.3996, (0.665, 0.273, 0.062)),
    ],
)
def test_reference_model(
    reference: Mites,
    celsius: float,
    egg: float,
    young: float,
    females: float,
    continuous: float,
    stepped: float,
    stages: tuple[float, float, float],
) -> None:
    life = usual_life(celsius, reference)
    assert life.egg_days == pytest.approx(egg, abs=0.0006)
    assert life.egg_to_adult_days - life.egg_days == pytest.approx(young, abs=0.0006)
    assert life.females_per_female == pytest.approx(females, abs=0.006)
    assert life.rate == pytest.approx(continuous, abs=0.00006)
    assert math.log(growth(life, STEP)) / STEP == pytest.approx(stepped, abs=0.00006)
    [colony] = project(celsius, [()], GOOD, reference, start=1)
    first = (colony.eggs[0], colony.young[0], colony.adults[0])
    assert first == pytest.approx(stages, abs=0.0006)


#: Reference: C, sprays, total on days 7 14 21 28, crawling on the same, first day after the last
#: spray with 1000 or more, days won. Kill 80% of what crawls, 20% of eggs.
INTERVALS = [
    (20, (), (2880, 8296, 23894, 68820), (915, 2636, 7591, 21864), None, 0.0),
    (20, (0,), (957, 2456, 11306, 24781), (564, 818, 2279, 10636), 8, 6.4),
    (20, every(3, 3), (214, 261, 1897, 5018), (107, 195, 192, 1858), 19, 18.4),
    (20, every(7, 3), (427, 339, 727, 2059), (113, 77, 307, 661), 24, 22.8),
    (20, every(5, 3), (444, 252, 900, 3377), (227, 147, 208, 838), 22, 21.2),
    (20, every(3, 5), (214, 30, 96, 423), (107, 20, 24, 91), 37, 35.4),
    (25, (), (5389, 29038, 156479, 843220), (1720, 9271, 49957, 269203), None, 0.0),
    (25, (0,), (1426, 13259, 49430, 349710), (693, 3241, 18882, 105189), 5, 4.0),
    (25, every(3, 3), (212, 1255, 5965, 37718), (115, 237, 2641, 9117), 14, 13.2),
    (25, every(7, 3), (725, 1808, 4590, 40513), (139, 205, 2061, 10850), 15, 13.3),
    (25, every(5, 3), (551, 993, 5419, 29301), (228, 469, 1503, 10991), 15, 13.9),
    (25, every(3, 5), (212, 128, 565, 3482), (115, 43, 164, 1266), 23, 23.0),
    (30, (), (10735, 115230, 1236940, 13277964), (3289, 35305, 378979, 4068155), None, 0.0),
    (30, (0,), (3739, 36792, 498582, 5382530), (912, 15593, 160698, 1409718), 4, 2.8),
    (30, every(3, 3), (364, 3909, 39755, 430129), (113, 1093, 12183, 137464), 11, 10.1),
    (30, every(7, 3), (2444, 6838, 43266, 551056), (182, 836, 15920, 204653), 15, 9.3),
    (30, every(5, 3), (1185, 3933, 57289, 617692), (402, 1908, 18727, 141338), 11, 9.3),
    (30, every(3, 5), (364, 362, 5274, 47461), (113, 167, 1286, 12463), 18, 16.6),
]


@pytest.mark.parametrize("row", INTERVALS, ids=lambda row: f"{row[0]}C-{len(row[1])}x")
def test_reference_interval_experiment(reference: Mites, row: tuple) -> None:  # type: ignore[type-arg]
    celsius, sprays, total, crawling, back, won = row
    [curve] = project(celsius, [sprays], GOOD, reference, days=40)
    days = (7, 14, 21, 28)
    assert [curve.total[day] for day in days] == pytest.approx(total, rel=1e-5, abs=0.51)
    assert [curve.crawling[day] for day in days] == pytest.approx(crawling, rel=1e-5, abs=0.51)
    assert curve.back_on(1000, after=max(sprays, default=0)) == back
    assert curve.days_won == pytest.approx(won, abs=0.051)


@pytest.mark.parametrize(
    ("celsius", "eggs", "crawling", "by_three", "by_seven"),
    [
        (20, 0, 0.8, 8040, 2585),
        (20, 0.2, 0.95, 2073, 143),
        (20, 0.5, 0.83, 1683, 930),
        (25, 0, 0.8, 53379, 57974),
        (25, 0.2, 0.6, 115211, 119192),
        (25, 0.5, 0.83, 14766, 15603),
        (30, 0, 0.8, 555927, 776576),
        (30, 0.2, 0.95, 39501, 98679),
        (30, 0.5, 0.83, 188320, 218293),
    ],
)
def test_reference_sensitivity(
    reference: Mites, celsius: float, eggs: float, crawling: float, by_three: float, by_seven: float
) -> None:
    curves = project(celsius, [every(3, 3), every(7, 3)], Kill(crawling, eggs), reference)
    assert [curve.end for curve in curves] == pytest.approx([by_three, by_seven], rel=1e-4, abs=0.51)


@pytest.mark.parametrize(
    ("celsius", "kill", "gap", "won", "by_three", "by_seven"),
    [
        (20, GOOD, 7.0, 22.8, 18.4, 22.8),
        (25, GOOD, 4.5, 14.3, 13.2, 13.3),
        (30, GOOD, 3.0, 10.1, 10.1, 9.3),
        (20, WEAK, 7.0, 10.8, 9.3, 10.8),
        (25, WEAK, 4.5, 6.8, 6.4, 6.4),
        (30, WEAK, 3.0, 4.8, 4.8, 4.5),
    ],
)
def test_reference_best_gap(
    reference: Mites, celsius: float, kill: Kill, gap: float, won: float, by_three: float, by_seven: float
) -> None:
    best = best_interval(celsius, reference, kill)
    assert best is not None
    assert best.days == gap
    assert best.days_won == pytest.approx(won, abs=0.051)
    assert best.won_by_gap[3] == pytest.approx(by_three, abs=0.051)
    assert best.won_by_gap[7] == pytest.approx(by_seven, abs=0.051)


@pytest.mark.parametrize("kill", [GOOD, WEAK])
@pytest.mark.parametrize(("celsius", "gap"), [(20, 7.0), (25, 4.5), (30, 3.0)])
def test_the_best_gap_is_near_that_of_the_reference(mites: Mites, celsius: float, kill: Kill, gap: float) -> None:
    """Growth in the cool is faster here than in the reference, so the gap at 20 C is half a day narrower."""
    best = best_interval(celsius, mites, kill)
    assert best is not None
    assert best.days == pytest.approx(gap, abs=0.5)
    assert best.whole_days in (math.floor(gap), math.ceil(gap))
