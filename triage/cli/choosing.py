"""What several commands share: which journal, which planting, which day, by whom."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import date
from typing import Any, TypeVar

import click

from triage.cli.shared import Shop, fail

F = TypeVar("F", bound=Callable[..., Any])


class DefaultGroup(click.Group):
    """A group that runs one of its commands when none is named: `triage journal beans` is its story."""

    default = ""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if not args or (args[0] not in self.commands and args[0] not in ("-h", "--help")):
            args = [self.default, *args]
        return super().parse_args(ctx, args)


def journal_option(command: F) -> F:
    """--journal: a file or a postgresql address, before the environment and the profile."""

    def keep(context: click.Context, _parameter: click.Parameter, value: str | None) -> None:
        if value is not None:
            context.ensure_object(Shop).journal_address = value

    option = click.option(
        "--journal",
        metavar="WHERE",
        expose_value=False,
        callback=keep,
        help="Journal to use: a file, or postgresql+psycopg://user@host/name.",
    )
    return option(command)


def planting_options(command: F) -> F:
    """--planting, or --crop with --bed and --variety."""
    for option in (
        click.option("--variety", metavar="NAME", help="With --crop and --bed: the variety."),
        click.option("--bed", metavar="NAME", help="With --crop: the bed it stands in; made when new."),
        click.option("--crop", metavar="NAME", help="The crop, by any everyday name."),
        click.option("--planting", metavar="WORDS", help='The planting, by a few words: "beans north bed".'),
    ):
        command = option(command)
    return command


def entry_options(command: F) -> F:
    """What every log command takes beside its own fields."""
    for option in (
        click.option("--no-input", is_flag=True, help="Never ask."),
        click.option("--json", "as_json", is_flag=True, help="Print what was kept as one JSON object."),
        click.option("--by", "observer", metavar="NAME", help="Who saw or did it."),
        click.option("--date", "day", metavar="DAY", help="today, yesterday, last tuesday, 3 aug, 2026-08-03."),
    ):
        command = option(command)
    return journal_option(planting_options(command))


def may_ask(no_input: bool, as_json: bool = False) -> bool:
    """Whether there is a person at a terminal who may be asked."""
    return not no_input and not as_json and sys.stdin.isatty() and sys.stdout.isatty()


def crop_id(shop: Shop, text: str) -> str:
    """The id of a crop called so. Raises BadInput with near misses."""
    from triage.reasoning.case import crop_words, did_you_mean, find_crop

    found = find_crop(text, shop.knowledge)
    if found is None:
        raise fail(
            f"no crop is called '{text}'",
            did_you_mean(text.lower(), dict.fromkeys(crop_words(shop.knowledge))),
            "--crop",
        )
    return found


def the_planting(
    shop: Shop, session: Any, planting: str | None, crop: str | None, bed: str | None, variety: str | None
) -> Any:
    """The planting that the options mean; crop and bed make a new one. None when nothing was said."""
    from triage.records.places import find_planting, garden_named, planting_of

    name = shop.profile.settings.name
    if planting is not None:
        if crop or bed or variety:
            raise fail("--planting says it all", "leave out --crop, --bed and --variety", "--planting")
        return find_planting(session, planting, shop.crop_words)
    if crop is None and bed is None and variety is None:
        return None
    if crop is None or bed is None:
        raise fail("--crop and --bed go together", "or use --planting WORDS", "--crop")
    return planting_of(session, garden_named(session, name), crop_id(shop, crop), bed, variety, shop.crop_words)


def the_day(shop: Shop, text: str | None) -> date:
    from triage.records.dates import parse_date

    return shop.today if text is None else parse_date(text, shop.today, "--date")


def cause_name(shop: Shop) -> Callable[[str], str]:
    """The name of a cause, also of one that the knowledge no longer holds."""

    def name(cause: str) -> str:
        return str(shop.knowledge.cause_name(cause)) if cause in shop.knowledge.sheets else cause.replace("_", " ")

    return name
