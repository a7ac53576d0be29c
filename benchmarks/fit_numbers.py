"""Which numbers of scale.yaml are fitted, how far they may go, and how they are written back."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from triage.reasoning.files import write_whole
from triage.reasoning.knowledge import Scale

Array = NDArray[np.float64]

_WORDS = {
    "almost_always": (0.89, 0.995),
    "usually": (0.68, 0.88),
    "often": (0.40, 0.67),
    "sometimes": (0.17, 0.39),
    "rarely": (0.03, 0.16),
    "never": (0.001, 0.02),
}
_GROUPS = (
    "pattern",
    "place",
    "creature",
    "look",
    "creature_check",
    "trace",
    "test",
    "detail",
    "bed",
    "new_growth",
    "event",
    "weather",
    "stage",
)


@dataclass(frozen=True)
class Parameter:
    """One number. It is fitted as its logit (shares) or logarithm (strengths); `low` and `high` are in that."""

    part: str
    key: str  # "" for a number by itself
    kind: Literal["logit", "log"]
    least: float
    most: float

    @property
    def name(self) -> str:
        return f"{self.part}.{self.key}" if self.key else self.part

    def point(self, value: float) -> float:
        return math.log(value / (1 - value)) if self.kind == "logit" else math.log(value)

    def value(self, point: float) -> float:
        return 1 / (1 + math.exp(-point)) if self.kind == "logit" else math.exp(point)

    @property
    def low(self) -> float:
        return self.point(self.least)

    @property
    def high(self) -> float:
        return self.point(self.most)


#: The ranges keep the words in their order, and the strengths of the prior below those of "high".
PARAMETERS = (
    *(Parameter("damping", group, "log", 0.1, 2.0) for group in _GROUPS),
    *(Parameter("frequency", word, "logit", *span) for word, span in _WORDS.items()),
    Parameter("words_count_as", "", "log", 1.0, 60.0),
    Parameter("untold", "", "logit", 0.02, 0.98),
    Parameter("unlisted", "", "logit", 0.001, 0.06),
    Parameter("neutral", "", "logit", 0.003, 0.25),
    Parameter("shared_power", "", "logit", 0.01, 0.5),
    Parameter("told", "power", "logit", 0.01, 0.7),
    Parameter("unticked", "almost_always", "log", 0.05, 1.0),
    Parameter("unticked", "otherwise", "log", 0.02, 1.0),
    Parameter("commonness", "medium", "log", 0.6, 1.0),
    Parameter("commonness", "low", "log", 0.2, 0.7),
    Parameter("host", "medium", "log", 0.6, 1.0),
    Parameter("host", "low", "log", 0.2, 0.7),
    Parameter("host", "none", "log", 0.003, 0.14),
    Parameter("breadth_power", "", "logit", 0.05, 0.9),
    Parameter("asked_power", "", "logit", 0.05, 0.9),
    Parameter("season", "next_month", "log", 0.4, 1.0),
    Parameter("season", "out_of_season", "log", 0.05, 0.39),
    Parameter("something_else", "", "logit", 0.001, 0.15),
    Parameter("kin", "", "log", 0.05, 3.0),
    Parameter("strangers", "", "log", 0.3, 4.0),
    Parameter("observer_error", "", "logit", 0.01, 0.2),
    Parameter("relatives", "listed", "logit", 0.01, 0.6),
    Parameter("relatives", "silent", "logit", 0.01, 0.9),
    Parameter("relatives", "background", "log", 0.1, 20.0),
    Parameter("strength_decibans", "weak", "log", 1.0, 5.0),
    Parameter("strength_decibans", "medium", "log", 2.0, 9.5),
    Parameter("strength_decibans", "strong", "log", 4.0, 20.0),
)


def _of(scale: Scale, parameter: Parameter) -> float:
    part = getattr(scale, parameter.part)
    return float(part[parameter.key] if parameter.key else part)


def present(scale: Scale) -> Array:
    """The present values as a point. Raises ValueError when one lies outside its range."""
    for parameter in PARAMETERS:
        if not parameter.least <= _of(scale, parameter) <= parameter.most:
            raise ValueError(f"{parameter.name} is outside {parameter.least} to {parameter.most}: mend fit_numbers.py")
    return np.array([parameter.point(_of(scale, parameter)) for parameter in PARAMETERS])


def scale_of(scale: Scale, at: Array) -> Scale:
    """The scale with the values of this point."""
    update: dict[str, object] = {}
    for parameter, point in zip(PARAMETERS, at, strict=True):
        value = parameter.value(float(point))
        if parameter.key:
            part = update.setdefault(parameter.part, dict(getattr(scale, parameter.part)))
            part[parameter.key] = value  # type: ignore[index]
        else:
            update[parameter.part] = value
    return scale.model_copy(update=update)


def short(value: float) -> str:
    """Two figures that count: more would pretend to know."""
    return f"{value:.2g}" if value < 0.1 else f"{value:.2f}"


def rewritten(text: str, at: Array) -> str:
    """scale.yaml with the new values; all else, comments too, as it was. Raises ValueError when a number is missing."""
    for parameter, point in zip(PARAMETERS, at, strict=True):
        number = short(parameter.value(float(point)))
        if not parameter.key:
            pattern = rf"(^{parameter.part}: )[0-9.]+"
        else:
            # Either in braces on the part's own line, or indented below it.
            pattern = (
                rf"(^{parameter.part}:(?: \{{[^}}\n]*?|(?:[^\n]*\n(?:  [^\n]*\n|\n)*?  ))\b{parameter.key}: )[0-9.]+"
            )
        found = re.search(pattern, text, re.MULTILINE)
        if found is None:
            raise ValueError(f"{parameter.name} was not found in scale.yaml")
        text = text[: found.end(1)] + number + text[found.end() :]
    return text


def write_scale(path: Path, at: Array) -> None:
    write_whole(path, rewritten(path.read_text(encoding="utf-8"), at))
