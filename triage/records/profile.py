"""The garden's profile: a small TOML file that a person may also write by hand.

Each setting comes from an option, else the environment, else the file, else its default.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

import tomli_w
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from triage.reasoning.case import Hemisphere
from triage.reasoning.files import write_whole
from triage.reasoning.knowledge import Region
from triage.reasoning.yaml_text import BadInput, Problem, read_text

Units = Literal["metric", "us", "imperial"]
Soap = Literal["plain", "detergent", "insecticidal"]  # the soaps of knowledge/sprays.yaml
From = Literal["option", "environment", "file", "default"]

REGIONS: tuple[str, ...] = get_args(Region)
HEMISPHERES: tuple[str, ...] = get_args(Hemisphere)
UNITS: tuple[str, ...] = get_args(Units)
SOAPS: tuple[str, ...] = get_args(Soap)

#: The environment's name for each setting.
ENVIRONMENT = {
    "name": "TRIAGE_GARDEN",
    "region": "TRIAGE_REGION",
    "country": "TRIAGE_COUNTRY",
    "hemisphere": "TRIAGE_HEMISPHERE",
    "units": "TRIAGE_UNITS",
    "beds": "TRIAGE_BEDS",
    "tank": "TRIAGE_TANK",
    "soap": "TRIAGE_SOAP",
    "oils": "TRIAGE_OILS",
    "observer": "TRIAGE_OBSERVER",
    "journal": "TRIAGE_JOURNAL",
}
_LISTS = {"beds", "oils"}
_TANK = re.compile(r"[\d½¼¾][\d .,/½¼¾]*[A-Za-z][A-Za-z .]*")  # read exactly where it is used, by the mixing room


def _country(value: str) -> str:
    if not re.fullmatch(r"[A-Za-z]{2}", value):
        raise ValueError("is a country's two letters, such as GB or US")
    return value.upper()


def _tank(value: str) -> str:
    if not _TANK.fullmatch(value.strip()):
        raise ValueError("is an amount with its unit, such as 8 L or 2 gallons")
    return value.strip()


def _named(values: tuple[str, ...]) -> tuple[str, ...]:
    if any(not value for value in values):
        raise ValueError("holds an empty name")
    if len({value.casefold() for value in values}) < len(values):
        raise ValueError("names one thing twice")
    return values


def _listed(value: Any) -> Any:
    """A list, or names with commas between them as options and the environment give it."""
    return [part.strip() for part in value.split(",") if part.strip()] if isinstance(value, str) else value


Text = Annotated[str, Field(min_length=1, max_length=200)]
Names = Annotated[tuple[Text, ...], BeforeValidator(_listed), AfterValidator(_named)]


class Settings(BaseModel):
    """What the file may hold. Everything may be left out."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Text = "My garden"
    region: Region | None = None
    country: Annotated[str, AfterValidator(_country)] | None = None
    hemisphere: Hemisphere | None = None
    units: Units = "metric"
    beds: Names = ()
    tank: Annotated[str, AfterValidator(_tank)] | None = None
    soap: Soap | None = None
    oils: Names = ()
    observer: Text | None = None
    journal: Text | None = None


@dataclass(frozen=True)
class Profile:
    """The settings in force, and where each one comes from."""

    settings: Settings
    origin: Mapping[str, From] = field(default_factory=dict)


def load_profile(path: Path, environment: Mapping[str, str], options: Mapping[str, Any] | None = None) -> Profile:
    """The profile in force. A missing file is an empty one. Raises BadInput naming file, line and setting."""
    given: dict[str, Any] = {}
    origin: dict[str, From] = dict.fromkeys(Settings.model_fields, "default")
    problems: list[Problem] = []
    for source, values in (
        ("file", read_file(path)),
        ("environment", {key: environment[name] for key, name in ENVIRONMENT.items() if environment.get(name)}),
        ("option", {key: value for key, value in (options or {}).items() if value not in (None, (), [])}),
    ):
        try:
            Settings.model_validate(values)
        except ValidationError as error:
            places = {"file": str(path), "environment": "environment", "option": "option"}
            problems += [_problem(item, source, places[source], path) for item in error.errors(include_url=False)]
        given |= values
        origin |= dict.fromkeys(values, source)  # type: ignore[arg-type]
    if problems:
        raise BadInput(problems)
    return Profile(Settings.model_validate(given), origin)


def read_file(path: Path) -> dict[str, Any]:
    """What the file holds, unchecked. Raises BadInput when it is no TOML."""
    if not path.exists():
        return {}
    try:
        return tomllib.loads(read_text(path))
    except tomllib.TOMLDecodeError as error:
        raise BadInput([Problem(str(path), None, "", f"is not TOML: {error}", "mend it, or delete it")]) from None


def save_profile(path: Path, changes: Mapping[str, Any]) -> Settings:
    """Change settings in the file (None takes one out); the rest stays. Raises BadInput, then nothing is written."""
    held = {**read_file(path), **changes}
    held = {key: list(value) if key in _LISTS and not isinstance(value, str) else value
            for key, value in held.items() if value not in (None, (), [])}  # fmt: skip
    try:
        settings = Settings.model_validate(held)
    except ValidationError as error:
        raise BadInput([_problem(item, "file", str(path), path) for item in error.errors(include_url=False)]) from None
    told = settings.model_dump(exclude_unset=True, exclude_none=True, mode="json")
    ordered = {name: told[name] for name in Settings.model_fields if name in told}
    head = "# The garden's profile. Change it by hand, or with: triage garden\n"
    try:
        write_whole(path, head + tomli_w.dumps(ordered))
    except OSError as error:
        raise BadInput([Problem(str(path), None, "", f"could not be written: {error.strerror}")]) from None
    return settings


def _problem(item: Any, source: str, place: str, path: Path) -> Problem:
    name = str(item["loc"][0]) if item["loc"] else ""
    wrong = item["msg"].removeprefix("Value error, ")
    mend = ""
    if item["type"] == "extra_forbidden":
        wrong, mend = "no such setting", f"there are: {', '.join(Settings.model_fields)}"
    elif item["type"] == "literal_error":
        wrong = f"'{item['input']}' is not known"
        mend = f"there are: {str(item['ctx']['expected']).replace(chr(39), '')}"
    shown = {"environment": ENVIRONMENT.get(name, name), "option": f"--{name}"}.get(source, name)
    line = _line(path, name) if source == "file" and path.exists() else None
    return Problem(place, line, shown, wrong[:1].lower() + wrong[1:], mend)


def _line(path: Path, name: str) -> int | None:
    lines: Sequence[str] = read_text(path).splitlines()
    return next((n for n, line in enumerate(lines, 1) if re.match(rf"\s*\"?{re.escape(name)}\"?\s*=", line)), None)
