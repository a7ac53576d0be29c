"""`triage log`: writes down what was seen and done, and corrects it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import click

from triage.cli.choosing import cause_name, entry_options, journal_option, may_ask, the_day, the_planting
from triage.cli.log_asking import ask_changes, ask_entry, read_field, settings_of, value_of
from triage.cli.shared import Shop, fail, mends_input, pass_shop, say


@click.group(name="log", short_help="Write down a spray, a count, a harvest; take back or mend.")
def command() -> None:
    """Writes down what was seen and done on a planting. On a terminal it asks for what is not given.

    \b
    Example:
      triage log spray
      triage log count --planting "beans north" --looked 40 --infested 12
      triage log harvest --crop tomato --bed "south bed" --amount 2.5 --unit kg --date yesterday
      triage log undo
    """


@command.command(name="spray", short_help="A spray that was put on.")
@click.option("--mix", metavar="TEXT", help='What was sprayed; "home mix" if not given.')
@click.option("--oil", "oil_percent", type=float, metavar="PERCENT", help="Oil in the mix, % by volume.")
@click.option("--soap", "soap_percent", type=float, metavar="PERCENT", help="Soap in the mix, % by volume.")
@click.option("--volume", "volume_ml", metavar="AMOUNT", help="How much, such as 1.5 L or 1 gal.")
@click.option("--round", type=int, metavar="N", help="Which round of the series.")
@click.option("--weather", metavar="TEXT", help="What the weather was like.")
@click.option("--against", "cause", metavar="NAME", help="The pest or disease it was for.")
@click.option("--note", metavar="TEXT")
@entry_options
@pass_shop
@mends_input
def spray(shop: Shop, /, **options: Any) -> None:
    """Writes down a spray.

    \b
    Example:
      triage log spray --planting "beans north" --volume "1.5 L" --date yesterday
    """
    _log(shop, "spray", options, {"mix": "home mix"})


@command.command(name="count", short_help="Leaves looked at, leaves with pests, damage.")
@click.option("--looked", type=int, metavar="N", help="Leaves looked at.")
@click.option("--infested", type=int, metavar="N", help="Leaves with the pest on them.")
@click.option("--pests", type=int, metavar="N", help="Pests counted in all.")
@click.option("--damage", type=float, metavar="PERCENT", help="How much of the leaf is damaged, 0 to 100.")
@click.option("--sprayed/--unsprayed", default=None, help="Whether these plants were sprayed.")
@click.option("--of", "cause", metavar="NAME", help="The pest or disease that was counted.")
@click.option("--note", metavar="TEXT")
@entry_options
@pass_shop
@mends_input
def count(shop: Shop, /, **options: Any) -> None:
    """Writes down a count.

    \b
    Example:
      triage log count --planting "beans north" --looked 40 --infested 12
    """
    _log(shop, "count", options)


@command.command(name="action", short_help="Anything done that is no spray.")
@click.option("--what", metavar="TEXT", help="What was done.")
@click.option("--means", metavar="TEXT", help="The kind of thing: cover, bait, feed, take off, hand-pick.")
@click.option("--note", metavar="TEXT")
@entry_options
@pass_shop
@mends_input
def action(shop: Shop, /, **options: Any) -> None:
    """Writes down something done that is no spray.

    \b
    Example:
      triage log action --planting "kale" --what "put the net on" --means cover
    """
    _log(shop, "action", options)


@command.command(name="harvest", short_help="What was picked.")
@click.option("--amount", type=float, metavar="N", help="How much.")
@click.option("--unit", metavar="TEXT", help="Of what: kg, g, lb, heads.")
@click.option("--note", metavar="TEXT")
@entry_options
@pass_shop
@mends_input
def harvest(shop: Shop, /, **options: Any) -> None:
    """Writes down a harvest.

    \b
    Example:
      triage log harvest --crop tomato --bed "south bed" --amount 2.5 --unit kg
    """
    _log(shop, "harvest", options)


@command.command(name="note", short_help="Anything worth remembering.")
@click.option("--text", metavar="TEXT", help="What to write down.")
@entry_options
@pass_shop
@mends_input
def note(shop: Shop, /, **options: Any) -> None:
    """Writes down a note.

    \b
    Example:
      triage log note --planting "beans north" --text "Lady beetles about"
    """
    _log(shop, "note", options)


@command.command(name="confirm", short_help="Somebody who can know said what it was.")
@click.option("--cause", metavar="NAME", help="What it was: a name, or part of it.")
@click.option("--how", "by_whom", type=click.Choice(["coach", "lens", "laboratory"]), help="How it is known.")
@click.option("--note", metavar="TEXT")
@entry_options
@pass_shop
@mends_input
def confirm(shop: Shop, /, **options: Any) -> None:
    """Writes down the true cause, once it is known. It belongs to the planting's last visit.

    \b
    Example:
      triage log confirm --planting "beans north" --cause "spider mite" --how lens
    """
    _log(shop, "confirm", options)


@command.command(name="undo", short_help="Take an entry back; it stays in the trace.")
@click.argument("ref", required=False)
@click.option("--by", "who", metavar="NAME", help="Who takes it back; without REF: the last entry of this person.")
@click.option("--json", "as_json", is_flag=True, help="Print what it was as one JSON object.")
@journal_option
@pass_shop
@mends_input
def undo_command(shop: Shop, ref: str | None, who: str | None, as_json: bool) -> None:
    """Takes back the entry REF (the letters shown in the journal), or the last one written.

    \b
    Example:
      triage log undo
      triage log undo 4f2a91
    """
    from triage.records.entries import undo
    from triage.records.story import Line
    from triage.screens.journal_page import kept_line

    with shop.journal.write() as session:
        found = _entry(session, ref, who)
        line = kept_line(Line(found.row.date, found.kind, found.row), shop.crop_words, cause_name(shop))
        before = undo(session, found, who or shop.profile.settings.observer, shop.journal.clock())
    if as_json:
        click.echo(json.dumps({"kind": found.kind, **before}))
    else:
        click.echo(line.replace("Kept:", "Taken back:", 1))


@command.command(name="edit", short_help="Mend an entry; what it was stays in the trace.")
@click.argument("ref", required=False)
@click.option(
    "--set", "settings", multiple=True, metavar="FIELD=VALUE", help="The new value; nothing behind = empties."
)
@click.option("--by", "who", metavar="NAME", help="Who mends it; without REF: the last entry of this person.")
@click.option("--json", "as_json", is_flag=True, help="Print what it is now as one JSON object.")
@click.option("--no-input", is_flag=True, help="Never ask.")
@journal_option
@pass_shop
@mends_input
def edit_command(
    shop: Shop, ref: str | None, settings: tuple[str, ...], who: str | None, as_json: bool, no_input: bool
) -> None:
    """Mends the entry REF (the letters shown in the journal), or the last one written.

    \b
    Example:
      triage log edit 4f2a91 --set date=yesterday --set volume="2 L"
      triage log edit
    """
    from triage.records.entries import edit
    from triage.records.rows import plain_one
    from triage.records.story import Line
    from triage.screens.journal_page import kept_line

    changes = settings_of(settings)
    if not changes:
        if not may_ask(no_input, as_json):
            raise fail("nothing to change", "give --set FIELD=VALUE", "--set")
        with shop.journal.read() as session:
            found = _entry(session, ref, who)
            ref, held = found.row.uid, plain_one(session, found.row)
        changes = _form_or_leave(lambda: ask_changes(shop, found.kind, held))
    with shop.journal.write() as session:
        found = _entry(session, ref, who)
        read = {name: read_field(shop, session, found.kind, name, value) for name, value in changes.items()}
        renamed = {"volume_ml" if name == "volume" else name: value for name, value in read.items()}
        after = edit(session, found, renamed, who or shop.profile.settings.observer, shop.journal.clock())
        session.refresh(found.row)
        line = kept_line(Line(found.row.date, found.kind, found.row), shop.crop_words, cause_name(shop))
    click.echo(json.dumps({"kind": found.kind, **after}) if as_json else line)


def _log(shop: Shop, kind: str, options: dict[str, Any], defaults: dict[str, Any] | None = None) -> None:
    """Ask for what is missing if there is somebody to ask, keep the entry, say what was kept."""
    from triage.records.entries import add, short
    from triage.records.rows import plain_one
    from triage.records.story import Line
    from triage.screens.journal_page import kept_line

    place = {name: options.pop(name) for name in ("planting", "crop", "bed", "variety")}
    day_text, observer = options.pop("day"), options.pop("observer")
    as_json = options.pop("as_json")
    asks = may_ask(options.pop("no_input"), as_json)
    day = the_day(shop, day_text)
    scripted = any(value is not None for value in options.values())
    given = {name: value_of(shop, name, value) for name, value in options.items()}
    if asks:
        place, given, day, observer = _form_or_leave(
            lambda: ask_entry(shop, kind, place, given, (day, day_text is None), observer, scripted)
        )
    given = {**(defaults or {}), **{name: value for name, value in given.items() if value is not None}}
    given |= {"date": day, "observer": observer or shop.profile.settings.observer}
    with shop.journal.write() as session:
        planting = the_planting(shop, session, **place)
        if planting is None:
            raise fail("which planting?", "give --planting WORDS, or --crop and --bed", "--planting")
        if kind == "confirm":
            given["case"] = _last_case(session, planting, given.get("cause"))
        row = add(session, kind, planting, given, shop.journal.clock())
        _ = row.planting  # loaded while the session is open
        record = {"kind": kind, **plain_one(session, row)}
        line = kept_line(Line(row.date, kind, row), shop.crop_words, cause_name(shop))
    # Said only now, when it is on the disk.
    click.echo(json.dumps(record) if as_json else line)
    if not as_json:
        say(f"Wrong? triage log undo {short(record['id'])}, or: triage log edit {short(record['id'])}")


def _form_or_leave(form: Callable[[], Any]) -> Any:
    try:
        return form()
    except (KeyboardInterrupt, EOFError):
        say("Left: nothing was written.")
        raise SystemExit(1) from None


def _entry(session: Any, ref: str | None, who: str | None) -> Any:
    from triage.records.entries import find_entry, last_entry

    found = last_entry(session, who) if ref is None else find_entry(session, ref)
    if found is None:
        raise fail("nothing is written down yet", "", "journal")
    return found


def _last_case(session: Any, planting: Any, cause: str | None) -> str | None:
    """The case of the last visit that a confirmation is about: the one of that cause, else the first."""
    from triage.records.visits import last_visit_of

    visit = last_visit_of(session, planting)
    if visit is None or not visit.cases:
        return None
    same = [case for case in visit.cases if case.cause == cause]
    return str((same or visit.cases)[0].uid)
