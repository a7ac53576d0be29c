"""Amounts as people write them, and kitchen spoons."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import real_knowledge
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.spray_knowledge import SprayFile
from triage.reasoning.yaml_text import BadInput
from triage.spraying.units import (
    Kitchen,
    area_m2,
    hardness_mg_l,
    in_spoons,
    kitchen_for,
    length_m,
    rate,
    spoons_text,
    temperature_c,
    volume,
)

US = Kitchen("us", "us")
UK = Kitchen("imperial", "metric")
FILE: SprayFile = real_knowledge().sprays
UNITS = FILE.units


@pytest.mark.parametrize(
    ("text", "ml"),
    [
        ("1.5 L", 1500),
        ("1,5 l", 1500),
        ("750ml", 750),
        ("1/2 gal", 3785.411784 / 2),
        ("1½ gallons", 3785.411784 * 1.5),
        ("1 1/2 us gal", 3785.411784 * 1.5),
        ("2 qt", 2 * 946.352946),
        ("1 pint", 473.176473),
        ("24 fl. oz.", 24 * 29.5735295625),
        ("24 oz", 24 * 29.5735295625),
        ("1 imp gal", 4546.09),
        (".5 litre", 500),
        ("3 tbsp", 3 * 14.78676478125),
    ],
)
def test_amounts_as_written(text: str, ml: float) -> None:
    assert volume(text, UNITS, US).ml == pytest.approx(ml)


def test_a_bare_gallon_follows_the_country() -> None:
    assert volume("1 gal", UNITS, kitchen_for(UNITS, "GB", "1 gal")).ml == 4546.09
    assert volume("1 gal", UNITS, kitchen_for(UNITS, "United Kingdom", "1 gal")).ml == 4546.09
    assert volume("1 gal", UNITS, kitchen_for(UNITS, "", "1 gal")).ml == 3785.411784


@pytest.mark.parametrize(
    ("country", "measure", "told", "spoons"),
    [
        ("", "1 gal", "", "us"),
        ("", "2 L", "", "metric"),
        ("", "4x8 ft", "", "us"),
        ("US", "2 L", "", "us"),
        ("AU", "2 L", "", "australian"),
        ("GB", "1 gal", "", "metric"),
        ("US", "1 gal", "metric", "metric"),
    ],
)
def test_which_spoons_are_at_hand(country: str, measure: str, told: str, spoons: str) -> None:
    assert kitchen_for(UNITS, country, measure, told).spoons == spoons


@pytest.mark.parametrize(
    "text", ["", "gal", "3 gall", "0 L", "-1 L", "1,000 ml", "1e3 L", "1/0 L", "10 drops", "nan L", "9" * 60 + " L"]
)
def test_what_is_no_amount_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        volume(text, UNITS, US)


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("0.2%", 0.002),
        ("2 tsp/gal", 2 / 768),
        ("1 tbsp per gallon", 1 / 256),
        ("1/2 tsp/gal", 0.5 / 768),
        ("20 mL/L", 0.02),
        ("20 mL / 1 L", 0.02),
        ("2 tsp to the pint", 2 / 96),
        ("0%", 0.0),
        ("0 tsp/gal", 0.0),
    ],
)
def test_rates_as_written(text: str, share: float) -> None:
    assert rate(text, UNITS, US) == pytest.approx(share)


@pytest.mark.parametrize("text", ["", "0.2", "much", "2 tsp", "2 tsp/bucket", "-1%", "1%%"])
def test_what_is_no_rate_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        rate(text, UNITS, US)


@pytest.mark.parametrize(
    ("text", "m2"),
    [
        ("4 m2", 4),
        ("4 m²", 4),
        ("100 sq ft", 9.290304),
        ("100 ft2", 9.290304),
        ("4 x 8 ft", 32 * 0.09290304),
        ("4x8ft", 32 * 0.09290304),
        ("1.2 m x 300 cm", 3.6),
        ("2 by 3 m", 6),
        ("1 square yard", 0.83612736),
    ],
)
def test_beds_as_written(text: str, m2: float) -> None:
    assert area_m2(text, UNITS) == pytest.approx(m2)


@pytest.mark.parametrize("text", ["", "4", "4 m", "x", "4 x", "4 x 8", "0 m2", "4 x 0 ft", "4 litres"])
def test_what_is_no_bed_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        area_m2(text, UNITS)


def test_hardness_lengths_and_warmth() -> None:
    assert hardness_mg_l("200", FILE) == hardness_mg_l("200 ppm", FILE) == 200
    assert hardness_mg_l("10 gpg", FILE) == pytest.approx(171)
    assert hardness_mg_l("hard", FILE) == 180
    assert length_m("6 in", UNITS, "--depth") == pytest.approx(0.1524)
    assert temperature_c("68 F", "--water-temp") == pytest.approx(20)
    for text in ("foo", "-3", "99999 ppm", "ppm", ""):
        with pytest.raises(BadInput):
            hardness_mg_l(text, FILE)


kitchens = st.builds(Kitchen, st.just("us"), st.sampled_from(sorted(UNITS.spoons)))


@given(ml=st.floats(0, 5000), kitchen=kitchens)
def test_spoons_are_the_nearest_quarter(ml: float, kitchen: Kitchen) -> None:
    spoons = in_spoons(ml, UNITS, kitchen)
    quarter = UNITS.volumes[UNITS.spoons[kitchen.spoons].teaspoon].ml / 4
    assert abs(spoons.ml - ml) <= quarter / 2 * (1 + 1e-6)
    tablespoon = UNITS.volumes[UNITS.spoons[kitchen.spoons].tablespoon].ml
    assert spoons.tablespoons * tablespoon + spoons.quarter_teaspoons * quarter == pytest.approx(spoons.ml)
    assert spoons.quarter_teaspoons * quarter < tablespoon


@given(ml=st.floats(0, 5000), share=st.floats(0, 1.5), kitchen=kitchens)
def test_spoons_never_hold_more_than_they_may(ml: float, share: float, kitchen: Kitchen) -> None:
    assert in_spoons(ml, UNITS, kitchen, ml * share).ml <= ml * share * (1 + 1e-9)


@given(amount=st.floats(0.01, 1000), unit=st.sampled_from(sorted(UNITS.volumes)))
def test_every_unit_reads_its_own_words(amount: float, unit: str) -> None:
    for word in UNITS.volumes[unit].words:
        found = volume(f"{amount:.4f} {word}", UNITS, UK)
        assert found.unit == unit
        assert found.ml == pytest.approx(float(f"{amount:.4f}") * UNITS.volumes[unit].ml)


def test_spoons_in_words() -> None:
    assert spoons_text(in_spoons(14.78676478125, UNITS, US)) == "1 tbsp"
    assert spoons_text(in_spoons(14.78676478125 + 1.5 * 4.92892159375, UNITS, US)) == "1 tbsp + 1½ tsp"
    assert spoons_text(in_spoons(20, UNITS, Kitchen("us", "australian"))) == "1 tbsp"
    assert spoons_text(in_spoons(15, UNITS, Kitchen("us", "australian"))) == "3 tsp"
    assert spoons_text(in_spoons(0.1, UNITS, US)) == ""


def test_no_word_stands_for_two_units(knowledge: Knowledge) -> None:
    words = [word for unit in UNITS.volumes.values() for word in unit.words]
    words += [word for two in UNITS.two_meanings.values() for word in two.words]
    words += [*UNITS.spoon_words["teaspoon"], *UNITS.spoon_words["tablespoon"]]
    assert len(words) == len(set(words))
    assert math.isfinite(sum(unit.ml for unit in knowledge.sprays.units.volumes.values()))
