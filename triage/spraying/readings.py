"""Temperatures and wind speeds as a grower writes them: 25, 25C, 77 F, 8 mph, 13 km/h."""

from __future__ import annotations

import re

_MILE, _METRE_A_SECOND = 1.609344, 3.6  # in km and km/h


def temperature_c(text: str) -> float:
    """“77F” or “25 C” to C; a bare number is C. Raises ValueError with a line to show."""
    found = re.fullmatch(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*°?\s*([CFcf]?)\s*", text)
    if not found:
        raise ValueError(f"“{text}” is not a temperature; write 25C or 77F")
    value = float(found[1].replace(",", "."))
    celsius = (value - 32) * 5 / 9 if found[2].lower() == "f" else value
    if not -60 <= celsius <= 60:
        raise ValueError(f"“{text}” cannot be; write 25C or 77F")
    return celsius


def speed_kmh(text: str) -> float:
    """“8 mph”, “13 km/h” or “3 m/s” to km/h; a bare number is km/h. Raises ValueError."""
    found = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(mph|km/?h|kph|m/?s)?\s*", text.lower())
    if not found:
        raise ValueError(f"“{text}” is not a wind speed; write 13km/h or 8mph")
    factor = {"mph": _MILE, "ms": _METRE_A_SECOND, "m/s": _METRE_A_SECOND}.get(found[2] or "", 1.0)
    return float(found[1].replace(",", ".")) * factor
