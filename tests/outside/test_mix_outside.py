"""Mixing, held against what others have published. The source stands beside each check."""

from __future__ import annotations

import itertools

import pint
import pytest

from tests.conftest import real_knowledge
from triage.reasoning.yaml_text import BadInput
from triage.spraying.coverage import for_bed, for_plants
from triage.spraying.emulsion import rise_speed, shake_interval
from triage.spraying.mix import Order, make
from triage.spraying.units import Kitchen, rate, volume
from triage.spraying.water import judge_water

FILE = real_knowledge().sprays
US = Kitchen("us", "us")
METRIC = Kitchen("us", "metric")

# The `pint` library's names for the units of the knowledge.
PINT = {
    "millilitre": "milliliter",
    "litre": "liter",
    "us_gallon": "gallon",
    "us_quart": "quart",
    "us_pint": "pint",
    "us_cup": "cup",
    "us_fluid_ounce": "fluid_ounce",
    "us_tablespoon": "tablespoon",
    "us_teaspoon": "teaspoon",
    "imp_gallon": "imperial_gallon",
    "imp_quart": "imperial_quart",
    "imp_pint": "imperial_pint",
    "imp_fluid_ounce": "imperial_fluid_ounce",
}
# Not known to `pint`; the sources are named in the knowledge (21 CFR 101.9, New South Wales health pages, GNU units).
BY_LAW = {"metric_teaspoon": 5, "metric_tablespoon": 15, "au_tablespoon": 20, "metric_cup": 250}
registry = pint.UnitRegistry()


def test_every_unit_is_checked() -> None:
    assert PINT.keys() | BY_LAW.keys() == FILE.units.volumes.keys()


@pytest.mark.parametrize(("one", "other"), [*itertools.permutations(PINT, 2)])
def test_every_pair_of_units_agrees_with_pint(one: str, other: str) -> None:
    ours = FILE.units.volumes[one].ml / FILE.units.volumes[other].ml
    theirs = registry.Quantity(1, PINT[one]).to(PINT[other]).magnitude
    assert ours == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(("unit", "ml"), [*BY_LAW.items()])
def test_spoons_set_by_law(unit: str, ml: float) -> None:
    assert FILE.units.volumes[unit].ml == ml


def test_nist_volume_constants() -> None:
    """NIST Handbook 44, appendix C: a US gallon is 231 cubic inches, an inch 2.54 cm exactly.

    29.573 53 mL to the US fluid ounce, as its tables round it: value from memory.
    """
    gallon = FILE.units.volumes["us_gallon"].ml
    assert gallon == pytest.approx(231 * 2.54**3, rel=1e-14)
    assert FILE.units.volumes["us_fluid_ounce"].ml == pytest.approx(29.57353, abs=5e-6)
    for unit, in_gallon in (("us_quart", 4), ("us_pint", 8), ("us_cup", 16), ("us_fluid_ounce", 128)):
        assert FILE.units.volumes[unit].ml * in_gallon == pytest.approx(gallon, rel=1e-14)


def test_one_percent_is_1_28_fluid_ounces_to_the_gallon() -> None:
    """Penn State Extension, oil sprays: a 1% mix takes 1.28 US fluid ounces to the gallon."""
    assert rate("1.28 fl oz/gal", FILE.units, US) == pytest.approx(0.01, abs=1e-9)


def test_two_teaspoons_to_the_pint_is_about_two_percent() -> None:
    """Colorado State University Extension, Denver: 2 tsp to the pint as the everyday form of a 2% soap dilution."""
    assert rate("2 tsp/pint", FILE.units, US) == pytest.approx(0.02, abs=0.001)
    batch = make(Order(US, {}, soap="insecticidal", soap_share=0.02, tank_ml=volume("1 pint", FILE.units, US).ml), FILE)
    assert batch.fills[0].measures[0].spoons.quarter_teaspoons == 8  # 2 tsp


def test_the_usual_recipe_by_arithmetic() -> None:
    """Common practice, no source: 2 tsp oil and 1 tbsp soap to the US gallon. 768 tsp and 256 tbsp make a gallon."""
    [fill] = make(Order(US, {"peppermint": 1}, tank_ml=volume("1 gal", FILE.units, US).ml), FILE).fills
    assert fill.percent("oil") == pytest.approx(100 * 2 / 768)
    assert fill.percent("soap") == pytest.approx(100 / 256)


def test_the_cucumber_line() -> None:
    """Mostafa and others 2021 (Agriculture 11:1177): more than 2.5 mL of oil to the litre harms cucumber."""
    strongest = 0.0025
    assert FILE.oil_groups["ordinary"].warn_percent == strongest * 100
    over = make(Order(METRIC, {"peppermint": 1}, oil_share=0.003, tank_ml=4000, crop="cucumber"), FILE)
    assert any("mostafa_2021" in care.sources for care in over.warnings)


def test_two_percent_detergent_is_refused_and_the_whitefly_dose_is_warned_of() -> None:
    """Sclar and others 1999: weekly 2% dish detergent cost yield.

    Liu and Stansly 2000: 2 mL/L killed 95% of young whiteflies, which is also above common practice.
    """
    with pytest.raises(BadInput):
        make(Order(METRIC, {"peppermint": 1}, soap="detergent", soap_share=0.02, tank_ml=4000), FILE)
    batch = make(Order(METRIC, {"peppermint": 1}, soap="detergent", soap_share=0.002, tank_ml=4000), FILE)
    assert any("soap is over" in care.says for care in batch.warnings)


def test_stokes_worked_number() -> None:
    """McClements, Food Emulsions: 1 micrometre radius, 910 kg/m3, in water of 1 mPa s: about 17 mm a day."""
    speed = rise_speed(2e-6, 1000 - 910, 1e-3, 9.807)
    assert speed * 1000 * 86400 == pytest.approx(17, abs=0.1)


# Worked out by hand from Stokes' law with the water tables of London South Bank University and the Encyclopedia of
# Environmental Science and Engineering: 50 micrometre drops of peppermint oil, 15 cm deep, a fifth of it cleared.
@pytest.mark.parametrize(("temp", "seconds"), [(10, 314), (15, 275), (20, 240), (25, 215), (30, 191)])
def test_shake_interval_by_hand(temp: float, seconds: float) -> None:
    shake = shake_interval(FILE.oils["peppermint"].density, 3785.4, FILE.emulsion, temp, 0.15)
    assert shake.computed_s == pytest.approx(seconds, rel=0.005)


def test_the_habit_of_three_to_four_minutes() -> None:
    """Common practice, no source: shake again after 3 to 4 minutes."""
    for oil in ("peppermint", "rosemary"):
        batch = make(Order(US, {oil: 1}, tank_ml=volume("1 gal", FILE.units, US).ml), FILE)
        assert batch.shake is not None
        assert 180 <= batch.shake.computed_s <= 240
        assert 180 <= batch.shake.seconds <= 240


def test_stokes_holds_at_this_speed() -> None:
    """Stokes' law needs a Reynolds number well below 1 (textbook rule, value from memory)."""
    shake = shake_interval(FILE.oils["peppermint"].density, 3785.4, FILE.emulsion)
    reynolds = shake.water_kg_m3 * shake.speed_mm_s / 1000 * shake.drop_um * 1e-6 / (shake.viscosity_mpas / 1000)
    assert reynolds < 0.1


def test_coverage_published_per_area() -> None:
    """Colorado State (CEPEP 204): 3 to 5 US gallons to 1000 sq ft. University of Minnesota: 25 to the acre.

    50 to 70 to the acre where a hand sprayer was not calibrated: an extension note copied in a growers' list.
    """
    gallon, thousand, acre = 3785.411784, 92.90304, 4046.8564224
    for cover, low, high in (
        ("full", 3 * gallon / thousand, 5 * gallon / thousand),
        ("light", 25 * gallon / acre, 25 * gallon / acre),
        ("usual", 50 * gallon / acre, 70 * gallon / acre),
    ):
        need = for_bed(1, cover, FILE.coverage)
        assert (need.low_ml, need.high_ml) == (pytest.approx(low, rel=0.02), pytest.approx(high, rel=0.02))


def test_coverage_per_plant() -> None:
    """Worked out by hand from the same figures and assumed footprints (our judgement)."""
    for crop, most in (("lettuce", 18), ("pepper", 41), ("bean", 10), ("summer_squash", 204), ("tomato", 102)):
        assert for_plants(1, crop, "full", FILE.coverage).high_ml == pytest.approx(most, abs=0.6)


def test_soap_used_up_by_hard_water() -> None:
    """Stoichiometry, by hand: two potassium laurates (238.4) or oleates (320.6) to one calcium carbonate (100.09)."""
    low, high = FILE.hard_water.soap_mg_per_mg
    assert (low, high) == (pytest.approx(2 * 238.4 / 100.09, abs=0.001), pytest.approx(2 * 320.6 / 100.09, abs=0.001))
    # 1 tbsp of 25 to 40% castile to the gallon: all gone at 152 to 328 mg/L, by hand.
    soap = FILE.soaps["plain"]
    assert judge_water(153, soap, 1 / 256, FILE.hard_water).lost == (pytest.approx(0.466, abs=0.01), 1.0)
    assert judge_water(331, soap, 1 / 256, FILE.hard_water).lost == (1.0, 1.0)
    # A 2% insecticidal soap loses about a fifth at 300 mg/L, by hand.
    lost = judge_water(300, FILE.soaps["insecticidal"], 0.02, FILE.hard_water).lost
    assert lost is not None
    assert lost[1] == pytest.approx(0.2, abs=0.01)
