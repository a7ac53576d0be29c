"""What happens in the invented example garden: its beds, crops and troubles. All of it is invented."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

GARDEN = "Hollow Lane Teaching Garden (invented)"
OBSERVERS = ("Observer Plum", "Observer Quince", "Observer Fern", "Observer Sorrel")
BEDS = ("North bed", "South bed", "East bed", "West bed", "Tunnel", "Herb strip")
SEASONS = (2024, 2025, 2026)
LAST_DAY = date(2026, 9, 2)

#: What people answered in the interview, by the trouble.
TOLD: dict[str, dict[str, Any]] = {
    "mites": {
        "pattern": ["pale_stippling", {"value": "bronzing", "sure": False}], "position": ["oldest_lowest"],
        "creature": ["slow_specks"], "motion": ["slow_crawl"], "tap_test": "crawling_specks", "wetness": ["dry"],
    },
    "blackfly": {
        "pattern": ["sticky_film", "curled_or_cupped"], "position": ["youngest_top"], "aphid_look": "black_matt",
        "creature": ["pear_shaped_clusters"], "trace": ["ants", "honeydew"],
    },
    "slugs": {
        "pattern": ["ragged_holes"], "trace": ["slime_trail"], "creature": ["none_by_day"], "wetness": ["rainy"],
        "spread": ["overnight"],
    },
    "caterpillars": {
        "pattern": ["ragged_holes"], "trace": ["dark_pellets"], "motion": ["slow_crawl"],
        "creature": ["smooth_caterpillar", "butterflies_over_bed"],
    },
    "mildew": {
        "pattern": ["white_powder_patches"], "position": ["oldest_lowest"], "surface": ["both"],
        "wipe_test": "rubs_off_white", "creature": ["none_found"],
    },
    "early blight": {
        "pattern": ["ringed_spots", "yellow_halo_spots"], "position": ["oldest_lowest"], "spread": ["bottom_up"],
        "creature": ["none_found"],
    },
    "late blight": {
        "pattern": ["water_soaked_patches", "fuzzy_underside", "black_blotches"], "trace": ["foul_smell"],
        "spread": ["fast_within_days", "plant_to_plant"], "bed_pattern": ["whole_crop"], "wetness": ["rainy", "humid"],
    },
    "black fruit ends": {
        "pattern": ["sunken_dark_fruit_end"], "position": ["fruit_only"], "event": ["uneven_watering"],
        "creature": ["none_found"], "stage": ["fruiting"],
    },
    "hungry": {
        "pattern": ["yellow_between_veins"], "position": ["oldest_lowest"], "creature": ["none_found"],
        "tap_test": "nothing",
    },
    "carrot fly": {
        "pattern": ["root_tunnels", "purple_tint"], "position": ["root_tuber_or_bulb"], "creature": ["maggot_in_root"],
    },
    "flecks": {
        "pattern": ["leaf_looks_fine"], "creature": ["inert_specks"], "motion": ["still"], "tap_test": "inert_specks",
    },
    "half told": {"pattern": ["even_yellowing"]},
}  # fmt: skip


@dataclass(frozen=True)
class Trouble:
    """One trouble on one planting: first seen in this week of the year, seen again on so many walks."""

    name: str
    week: int
    walks: int
    means: str = ""  # what was done, for the list of actions
    did: str = ""
    sprays: int = 0
    counted: bool = False
    years: tuple[int, ...] = SEASONS


@dataclass(frozen=True)
class Plot:
    """A crop that is grown every year in its bed. Days are (month, day)."""

    bed: str
    crop: str
    variety: str
    starts: tuple[int, int]
    ends: tuple[int, int]
    sown: bool = True
    troubles: tuple[Trouble, ...] = ()
    picks: tuple[float, str, int, int] | None = None  # most a pick, unit, first and last month
    years: tuple[int, ...] = SEASONS


PLOTS = (
    Plot("North bed", "broad_bean", "Lane Early", (3, 6), (7, 21), troubles=(
        Trouble("blackfly", 22, 3, "pick off", "pinched out the soft tops", counted=True),), picks=(1.8, "kg", 6, 7)),
    Plot("North bed", "bean", "Lane Dwarf, row A", (5, 20), (9, 26), troubles=(
        Trouble("mites", 30, 5, sprays=3, counted=True),), picks=(1.4, "kg", 7, 9)),
    Plot("North bed", "bean", "Lane Dwarf, row B", (5, 20), (9, 26), troubles=(
        Trouble("mites", 30, 5, counted=True),), picks=(1.2, "kg", 7, 9)),
    Plot("South bed", "kale", "Lane Curly", (6, 3), (12, 20), sown=False, troubles=(
        Trouble("caterpillars", 29, 2, "cover", "picked them off, put the net on"),
        Trouble("caterpillars", 36, 1, years=(2026,)),), picks=(0.9, "kg", 8, 10)),
    Plot("South bed", "summer_squash", "Lane Striped", (5, 26), (10, 6), sown=False, troubles=(
        Trouble("mildew", 32, 3, "take off", "took off the worst leaves", counted=True),), picks=(3.0, "kg", 7, 9)),
    Plot("East bed", "lettuce", "Lane Butter", (4, 10), (6, 25), sown=False, troubles=(
        Trouble("slugs", 17, 2, "bait", "laid iron phosphate bait, boards as traps"),), picks=(9, "heads", 5, 6)),
    Plot("East bed", "carrot", "Lane Long", (4, 22), (9, 30), troubles=(
        Trouble("carrot fly", 34, 1, years=(2024, 2025)),), picks=(2.5, "kg", 8, 9)),
    Plot("West bed", "potato", "Lane Second", (4, 3), (8, 28), troubles=(
        Trouble("late blight", 31, 1, "pull", "cut the tops and binned them", years=(2025,)),
        Trouble("early blight", 30, 2, "take off", "took off the lowest leaves", years=(2024, 2026)),),
        picks=(6.0, "kg", 7, 8)),
    Plot("Tunnel", "tomato", "Lane Red", (5, 14), (10, 14), sown=False, troubles=(
        Trouble("black fruit ends", 28, 2, "shelter", "water every evening now", years=(2024, 2025)),
        Trouble("half told", 27, 1, years=(2026,)),), picks=(2.8, "kg", 7, 9)),
    Plot("Tunnel", "cucumber", "Lane Green", (5, 18), (9, 22), sown=False, troubles=(
        Trouble("hungry", 27, 2, "feed", "Epsom salt watered in", years=(2024, 2026)),
        Trouble("mites", 31, 3, sprays=2, counted=True, years=(2025, 2026)),), picks=(8, "pieces", 7, 9)),
    Plot("Herb strip", "basil", "Lane Sweet", (5, 30), (9, 20), sown=False, troubles=(
        Trouble("flecks", 28, 1, years=(2024, 2026)),)),
    Plot("Herb strip", "strawberry", "Lane Ruby", (4, 8), (12, 31), sown=False, troubles=(
        Trouble("slugs", 24, 1, "bait", "laid iron phosphate bait"),), picks=(1.1, "kg", 6, 7), years=(2024,)),
)  # fmt: skip

#: Who settled it, in which year: (crop, trouble, year) -> (cause, by whom).
SETTLED = {
    ("bean", "mites", 2024): ("two_spotted_spider_mite", "lens"),
    ("cucumber", "mites", 2025): ("two_spotted_spider_mite", "lens"),
    ("kale", "caterpillars", 2025): ("imported_cabbageworm", "coach"),
    ("potato", "late blight", 2025): ("late_blight", "laboratory"),
    ("carrot", "carrot fly", 2024): ("carrot_rust_fly", "coach"),
    ("summer_squash", "mildew", 2026): ("powdery_mildew_cucurbit", "coach"),
}
