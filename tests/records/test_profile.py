from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from triage.reasoning.yaml_text import BadInput
from triage.records.profile import ENVIRONMENT, Settings, load_profile, save_profile

WHOLE: dict[str, Any] = {
    "name": "School garden", "region": "europe", "country": "GB", "hemisphere": "north", "units": "metric",
    "beds": ["North bed", "South bed"], "tank": "8 L", "soap": "plain", "oils": ["peppermint"],
    "observer": "Ana", "journal": "postgresql+psycopg://ana@club/journal",
}  # fmt: skip


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "config" / "garden.toml"


def test_no_file_is_an_empty_one(path: Path) -> None:
    profile = load_profile(path, {})
    assert profile.settings == Settings()
    assert set(profile.origin.values()) == {"default"}
    assert not path.exists()


def test_every_setting_is_kept_and_read_again(path: Path) -> None:
    assert set(WHOLE) == set(Settings.model_fields) == set(ENVIRONMENT)
    save_profile(path, WHOLE)
    assert tomllib.loads(path.read_text()) == WHOLE
    assert load_profile(path, {}).settings == Settings.model_validate(WHOLE)


def test_option_before_environment_before_file_before_default(path: Path) -> None:
    save_profile(path, {"units": "us", "tank": "2 gal", "country": "us"})
    environment = {"TRIAGE_TANK": "8 L", "TRIAGE_COUNTRY": "de", "TRIAGE_OILS": "", "HOME": "/"}
    profile = load_profile(path, environment, {"country": "fr", "name": None, "beds": ()})
    assert (profile.settings.units, profile.settings.tank, profile.settings.country) == ("us", "8 L", "FR")
    told = {name: profile.origin[name] for name in ("units", "tank", "country", "name", "beds", "oils")}
    assert told == {
        "units": "file", "tank": "environment", "country": "option", "name": "default", "beds": "default",
        "oils": "default",
    }  # fmt: skip


def test_lists_may_be_written_with_commas(path: Path) -> None:
    profile = load_profile(path, {"TRIAGE_BEDS": "North bed, South bed,"}, {"oils": "peppermint"})
    assert profile.settings.beds == ("North bed", "South bed")
    assert profile.settings.oils == ("peppermint",)


def test_a_change_leaves_the_rest_and_none_takes_out(path: Path) -> None:
    save_profile(path, WHOLE)
    save_profile(path, {"tank": "5 L", "soap": None})
    expected = {key: value for key, value in {**WHOLE, "tank": "5 L"}.items() if key != "soap"}
    assert tomllib.loads(path.read_text()) == expected


@pytest.mark.parametrize(
    "changes, says",
    [
        ({"region": "atlantis"}, "region: 'atlantis' is not known .there are: europe"),
        ({"country": "Britain"}, "country: is a country's two letters"),
        ({"tank": "big"}, "tank: is an amount with its unit"),
        ({"tank": "8"}, "tank: is an amount with its unit"),
        ({"beds": "North, north"}, "beds: names one thing twice"),
        ({"colour": "red"}, "colour: no such setting"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(path: Path, changes: dict[str, Any], says: str) -> None:
    save_profile(path, WHOLE)
    before = path.read_bytes()
    with pytest.raises(BadInput, match=says):
        save_profile(path, changes)
    assert path.read_bytes() == before


def test_a_slip_made_by_hand_names_its_line(path: Path) -> None:
    path.parent.mkdir()
    path.write_text('# mine\nname = "x"\nunits = "stone"\n')
    with pytest.raises(BadInput, match=r"garden.toml, line 3, units: 'stone' is not known"):
        load_profile(path, {})
    path.write_text("name = x")
    with pytest.raises(BadInput, match="is not TOML"):
        load_profile(path, {})


def test_a_slip_in_the_environment_names_the_variable(path: Path) -> None:
    with pytest.raises(BadInput, match="TRIAGE_UNITS: 'stone' is not known"):
        load_profile(path, {"TRIAGE_UNITS": "stone"})


@pytest.mark.parametrize("tank", ["8 L", "1/2 gal", "1 1/2 imp gal", "½ gallon", "2,5 litres", "12 fl oz"])
def test_amounts_as_people_write_them(path: Path, tank: str) -> None:
    assert save_profile(path, {"tank": tank}).tank == tank


@settings(deadline=None, max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40))
def test_any_name_is_kept_exactly(path: Path, name: str) -> None:
    save_profile(path, {"name": name})
    assert load_profile(path, {}).settings.name == name
