"""Creaming by Stokes' law, and the interval it gives."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import real_knowledge
from triage.reasoning.yaml_text import BadInput
from triage.spraying.emulsion import between, depth_of, rise_speed, shake_interval

FILE = real_knowledge().sprays
EMULSION = FILE.emulsion
PEPPERMINT = FILE.oils["peppermint"].density


def test_the_default_lands_in_three_to_four_minutes() -> None:
    shake = shake_interval(PEPPERMINT, 3785.411784, EMULSION)
    assert 180 <= shake.computed_s <= 240
    assert 180 <= shake.seconds <= 240


def test_heavier_oil_sinks_and_equal_oil_stays() -> None:
    assert shake_interval(1.05, 4000, EMULSION).sinks
    assert not shake_interval(0.9, 4000, EMULSION).sinks
    still = shake_interval(1.0, 4000, EMULSION)
    assert math.isinf(still.computed_s)
    assert still.seconds == EMULSION.longest_s


@given(temp=st.floats(0, 30), depth=st.floats(0.01, 2), density=st.floats(0.85, 1.1))
def test_the_interval_stays_within_its_bounds(temp: float, depth: float, density: float) -> None:
    shake = shake_interval(density, 4000, EMULSION, temp, depth)
    assert EMULSION.shortest_s <= shake.seconds <= EMULSION.longest_s
    assert shake.seconds % EMULSION.step_s == 0
    assert shake.seconds <= max(shake.computed_s, EMULSION.shortest_s)
    assert shake.range_s[0] <= shake.computed_s <= shake.range_s[1]


@given(drop=st.floats(1e-6, 1e-4), gap=st.floats(1, 200), viscosity=st.floats(5e-4, 2e-3))
def test_twice_the_drop_is_four_times_the_speed(drop: float, gap: float, viscosity: float) -> None:
    one = rise_speed(drop, gap, viscosity, 9.807)
    assert rise_speed(2 * drop, gap, viscosity, 9.807) == pytest.approx(4 * one)
    assert rise_speed(drop, -gap, viscosity, 9.807) == one


@given(temp=st.floats(0, 30))
def test_tables_are_met_and_joined(temp: float) -> None:
    value = between(EMULSION.viscosity_mpas, temp)
    assert min(EMULSION.viscosity_mpas.values()) <= value <= max(EMULSION.viscosity_mpas.values())
    for point, exact in EMULSION.viscosity_mpas.items():
        assert between(EMULSION.viscosity_mpas, point) == pytest.approx(exact)


@pytest.mark.parametrize("temp", [-1, 31, 95])
def test_water_outside_the_table_is_refused(temp: float) -> None:
    with pytest.raises(BadInput):
        shake_interval(PEPPERMINT, 4000, EMULSION, temp)


@pytest.mark.parametrize("depth", [0.0001, 5])
def test_a_depth_no_tank_has_is_refused(depth: float) -> None:
    with pytest.raises(BadInput):
        shake_interval(PEPPERMINT, 4000, EMULSION, None, depth)


def test_the_tank_shape_holds_its_volume() -> None:
    depth = depth_of(3785.411784, EMULSION)
    width = EMULSION.width_to_depth * depth
    assert math.pi / 4 * width**2 * depth * 1e6 == pytest.approx(3785.411784)
