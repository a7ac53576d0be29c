"""Batches: what is measured, the limits, hard water, fillings."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import real_knowledge
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.yaml_text import BadInput
from triage.spraying.coverage import fillings, for_bed, for_plants
from triage.spraying.mix import Batch, Order, make
from triage.spraying.oils import oil_limits, read_oils, usual_oil_share
from triage.spraying.units import Kitchen
from triage.spraying.water import judge_water

KNOWLEDGE = real_knowledge()
FILE = KNOWLEDGE.sprays
US = Kitchen("us", "us")
GALLON = 3785.411784
oil_ids = st.sampled_from(sorted(FILE.oils))
blends = st.dictionaries(oil_ids, st.floats(0.1, 10), min_size=1, max_size=4)


def order(**changes: object) -> Order:
    plain: dict[str, object] = {"kitchen": US, "oils": {"peppermint": 1.0}, "tank_ml": GALLON}
    return Order(**{**plain, **changes})  # type: ignore[arg-type]


def words(batch: Batch) -> str:
    return " ".join(care.says for care in batch.warnings)


def test_the_usual_recipe() -> None:
    [fill] = make(order(), FILE).fills
    oil, soap = fill.measures
    assert (oil.spoons.tablespoons, oil.spoons.quarter_teaspoons) == (0, 8)
    assert (soap.spoons.tablespoons, soap.spoons.quarter_teaspoons) == (1, 0)
    assert round(oil.percent, 2) == FILE.home_mix.oil_percent
    assert round(soap.percent, 2) == FILE.home_mix.soap_percent
    assert fill.water_ml + oil.ml + soap.ml == pytest.approx(fill.ml)


def test_the_usual_recipe_carries_its_warning() -> None:
    assert "0.26% oil is over the warning line" in words(make(order(), FILE))
    assert "warning line" not in words(make(order(oil_share=0.002), FILE))


def test_rounding_down_does_not_hide_the_warning() -> None:
    batch = make(order(tank_ml=1500.0), FILE)
    assert batch.fills[0].percent("oil") < 0.25
    assert "0.26% oil is over the warning line" in words(batch)


def test_a_syringe_is_not_rounded_over_the_limit() -> None:
    oil = make(order(tank_ml=168.0, oil_share=0.005), FILE).fills[0].measures[0]
    assert oil.syringe
    assert oil.ml == pytest.approx(0.80)


@pytest.mark.parametrize(
    ("changes", "option"),
    [
        ({"oil_share": 0.0051}, "--oil-rate"),
        ({"oils": {"clove": 1.0}, "oil_share": 0.0026}, "--oil-rate"),
        ({"oils": {"other": 1.0}, "oil_share": 0.0026}, "--oil-rate"),
        ({"soap_share": 0.0251}, "--soap-rate"),
        ({"soap": "detergent", "soap_share": 0.0051}, "--soap-rate"),
        ({"soap": "insecticidal", "soap_share": 0.031}, "--soap-rate"),
        ({"soap": "insecticidal"}, "--soap-rate"),
        ({"soap": None}, "--soap"),
        ({"soap": "shampoo"}, "--soap"),
        ({"soap_share": 0.0}, "--soap-rate"),
        ({"oil_share": 0.0}, "--oil-rate"),
        ({"oils": {}, "oil_share": 0.001}, "--oil-rate"),
        ({"tank_ml": None}, "--tank"),
        ({"tank_ml": 10.0}, "--tank"),
        ({"tank_ml": 1e9}, "--tank"),
    ],
)
def test_what_is_refused_names_its_option(changes: dict[str, object], option: str) -> None:
    with pytest.raises(BadInput) as caught:
        make(order(**changes), FILE)
    [problem] = caught.value.problems
    assert problem.file == option
    assert problem.mend


def test_a_refusal_names_its_limit_and_what_that_rests_on() -> None:
    with pytest.raises(BadInput, match=r"0\.5%.*our judgement.*gospodarek2023"):
        make(order(oil_share=0.006), FILE)
    with pytest.raises(BadInput, match=r"2\.5%.*infonet_soap"):
        make(order(soap_share=0.03), FILE)


def test_at_the_limit_it_still_mixes() -> None:
    assert make(order(oil_share=0.005), FILE).fills[0].percent("oil") <= 0.5 + 1e-9
    assert make(order(soap_share=0.025), FILE).fills[0].percent("soap") <= 2.5 + 1e-9


def test_one_teaspoon_of_detergent_is_the_line() -> None:
    at = make(order(soap="detergent", soap_share=1 / 768), FILE)
    over = make(order(soap="detergent", soap_share=1.25 / 768), FILE)
    assert "soap is over" not in words(at)
    assert "soap is over" in words(over)


@given(oils=blends, part=st.floats(0.02, 1), tank=st.floats(1000, 20000), soap=st.floats(0.0005, 0.025))
def test_rounding_never_carries_a_mix_over_a_limit(
    oils: dict[str, float], part: float, tank: float, soap: float
) -> None:
    limits = oil_limits(oils, FILE)
    wanted = order(oils=oils, oil_share=limits.refuse / 100 * part, tank_ml=tank, soap_share=soap)
    try:
        batch = make(wanted, FILE)
    except BadInput as refused:
        assert refused.problems[0].file == "--tank"  # too little to measure out
        return
    for fill in batch.fills:
        assert fill.percent("oil") <= limits.refuse + 1e-6
        assert fill.percent("soap") <= 2.5 + 1e-6
        harsh = {f"{FILE.oils[n].says} oil" for n in oils if FILE.oils[n].group == "phenolic"} | {
            FILE.oils["other"].says
        }
        assert sum(m.percent for m in fill.measures if m.name in harsh) <= 0.25 + 1e-6


@given(oils=blends)
def test_a_blend_lies_between_its_oils(oils: dict[str, float]) -> None:
    limits = oil_limits(oils, FILE)
    alone = [FILE.oil_groups[FILE.oils[name].group].refuse_percent for name in oils]
    assert min(alone) - 1e-9 <= limits.refuse <= max(alone) + 1e-9
    assert limits.warn is not None
    assert limits.warn < limits.refuse
    assert usual_oil_share(oils, FILE) * 100 <= limits.refuse
    doubled = {name: 2 * parts for name, parts in oils.items()}
    assert oil_limits(doubled, FILE).refuse == pytest.approx(limits.refuse)


def test_every_usual_rate_lies_inside_its_limits() -> None:
    for soap in ("plain", "detergent"):
        make(order(soap=soap), FILE)
    for oil in FILE.oils:
        make(order(oils={oil: 1.0}), FILE)


def test_oils_as_written() -> None:
    assert read_oils(("peppermint=2,rosemary",), FILE) == {"peppermint": 2, "rosemary": 1}
    assert read_oils(("2 Peppermint Oil", "rosemary essential oil"), FILE) == {"peppermint": 2, "rosemary": 1}
    for text in ("pepermint", "pennyroyal", "peppermint=0", "peppermint=two", "=2"):
        with pytest.raises(BadInput):
            read_oils((text,), FILE)


def test_a_small_bottle_asks_for_a_syringe() -> None:
    [fill] = make(order(tank_ml=240.0), FILE).fills
    oil = fill.measures[0]
    assert oil.syringe
    assert oil.ml == pytest.approx(oil.exact_ml, rel=FILE.measuring.coarse_spoon)


@given(tank=st.floats(30, 20000))
def test_what_is_poured_is_near_what_was_meant(tank: float) -> None:
    try:
        batch = make(order(tank_ml=tank), FILE)
    except BadInput:
        assert tank < 100
        return
    for measure in batch.fills[0].measures:
        assert abs(measure.ml - measure.exact_ml) <= FILE.measuring.coarse_spoon * measure.exact_ml + 1e-9


@given(need=st.floats(1, 1e5), tank=st.none() | st.floats(500, 20000), step=st.floats(50, 200))
def test_fillings_cover_the_job_and_waste_little(need: float, tank: float | None, step: float) -> None:
    found = fillings(need, tank, step)
    made = sum(filling.times * filling.ml for filling in found)
    assert made >= need - 1e-3
    assert made - need <= step + 1e-3
    assert all(tank is None or filling.ml <= tank + 1e-9 for filling in found)
    assert all(filling.times >= 1 for filling in found)
    assert all(one.ml > other.ml for one, other in pairwise(found))


def test_a_job_tells_fillings_and_what_is_left() -> None:
    need = for_plants(30, "tomato", "full", FILE.coverage)
    batch = make(order(kitchen=Kitchen("us", "metric"), tank_ml=1500.0, need=need), FILE)
    assert need.high_ml == pytest.approx(30 * 0.5 * 204)
    assert batch.fillings == 3
    assert batch.made_ml == pytest.approx(3100)
    assert batch.leftover_ml == pytest.approx(3100 - need.high_ml)


def test_a_tiny_job_is_raised_to_what_can_be_measured() -> None:
    batch = make(order(tank_ml=None, need=for_plants(1, "radish", "light", FILE.coverage)), FILE)
    assert batch.leftover_ml is not None
    assert batch.leftover_ml > 50


def test_coverage_refuses_nonsense() -> None:
    with pytest.raises(BadInput):
        for_bed(4, "lots", FILE.coverage)
    with pytest.raises(BadInput):
        for_plants(0, "tomato", "full", FILE.coverage)


@pytest.mark.parametrize(("mg", "verdict"), [(30, "fine"), (100, "note"), (150, "jar_test"), (250, "swap")])
def test_hard_water_at_recipe_strength(mg: float, verdict: str) -> None:
    water = make(order(hardness_mg_l=mg), FILE).water
    assert water is not None
    assert water.verdict == verdict


def test_a_strong_soap_stands_harder_water_and_detergent_any() -> None:
    strong = judge_water(250, FILE.soaps["insecticidal"], 0.02, FILE.hard_water)
    assert strong.verdict == "jar_test"
    detergent = judge_water(250, FILE.soaps["detergent"], 0.001, FILE.hard_water)
    assert (detergent.verdict, detergent.lost) == ("fine", None)


@given(mg=st.floats(0, 2000), more=st.floats(0, 500), soap=st.floats(0.001, 0.025))
def test_harder_water_never_takes_less(mg: float, more: float, soap: float) -> None:
    plain = FILE.soaps["plain"]
    one = judge_water(mg, plain, soap, FILE.hard_water).lost
    other = judge_water(mg + more, plain, soap, FILE.hard_water).lost
    assert one is not None
    assert other is not None
    assert 0 <= one[0] <= one[1] <= 1
    assert one[0] <= other[0]
    assert one[1] <= other[1]


def test_a_touchy_crop_is_named_with_its_source() -> None:
    batch = make(order(crop="summer_squash"), FILE)
    [care] = [care for care in batch.warnings if "Squash" in care.says]
    assert care.sources == ("echo_1992",)


def test_the_law_of_the_country_comes_first() -> None:
    safety = KNOWLEDGE.safety
    assert safety.in_order("GB")[0].says == "United Kingdom"
    assert safety.in_order("germany")[0].says == "European Union"
    assert safety.in_order("US")[0].says == "United States"
    assert safety.in_order("nowhere")[0].countries == []
    assert len(safety.in_order("GB")) == len(safety.rules)
    assert "offence" in safety.brief("GB")[0].brief


def test_every_crop_has_a_footprint_and_every_ladder_rung_a_source(knowledge: Knowledge) -> None:
    assert set(FILE.coverage.footprint_m2) == set(knowledge.crops.crops)  # a new crop needs a footprint
    assert set(FILE.sensitive) <= set(knowledge.crops.crops)
    assert all(rung.sources for rungs in FILE.ladder.values() for rung in rungs)
    for strength in (*FILE.oil_groups.values(), *FILE.soaps.values()):
        assert set(strength.warn_sources) <= set(strength.sources)
    assert set(FILE.ladder) == {"oil", "phenolic_oil", *FILE.soaps}
    assert set(FILE.measuring.handy_step_ml) == set(FILE.units.spoons)
