"""`triage plan`: a programme of sprays that bends to the weather."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import click

from triage.cli.choosing import journal_option, may_ask, planting_options, the_planting
from triage.cli.log_asking import value_of
from triage.cli.planning import Rules, mixed, since_of
from triage.cli.shared import Shop, fail, mends_input, pass_shop, say


@click.command(name="plan", short_help="A programme of sprays: when, how often, when to stop.")
@planting_options
@click.option("--cause", metavar="NAME", help="What it is; else the planting's last verdict says.")
@click.option("--verdict", type=click.Path(path_type=Path), metavar="FILE", help="A verdict: triage assess --json.")
@click.option("--mix", metavar="TEXT", help='What is sprayed; "home mix" if not given.')
@click.option("--oil", type=float, metavar="PERCENT", help="Oil in the mix, % by volume.")
@click.option("--soap", type=float, metavar="PERCENT", help="Soap in the mix, % by volume.")
@click.option("--start", metavar="DAY", help="The first day it may be sprayed; today if not given.")
@click.option("--weather", type=click.Path(path_type=Path), metavar="FILE", help="A daily weather file.")
@click.option("--units", type=click.Choice(["metric", "us"]), help="Of a weather file that does not say.")
@click.option("--harvest", "harvests", multiple=True, metavar="DAY", help="A day you will pick. May repeat.")
@click.option("--last-sulfur", metavar="DAY", help="Where the journal does not hold it.")
@click.option("--last-oil", metavar="DAY", help="The last plain horticultural oil.")
@click.option("--planted-out", metavar="DAY", help="Planted out, wilted or frosted.")
@click.option("--thirsty/--not-thirsty", default=None, help="Plants limp, or soil dry.")
@click.option("--bloom/--no-bloom", default=None, help="Flowers open on the plants or beside them.")
@click.option("--bloom-over", metavar="DAY", help="When the flowers will be over.")
@click.option("--dried", multiple=True, metavar="DAY", help="That day's spray had dried before the rain.")
@click.option("--found", type=click.Choice(["clean", "hit", "burnt"]), help="What you found on the newest leaves.")
@click.option("--pests/--no-pests", default=None, help="With --found: whether living pests are left.")
@click.option("--date", "day", metavar="DAY", help="With --found: when you looked; today if not given.")
@click.option("--scent", is_flag=True, help="A scent mask every 7 to 10 days; no trial supports it.")
@click.option("--calendar", type=click.Path(path_type=Path), metavar="FILE", help="Write a calendar file (.ics).")
@click.option("--end", "why_ended", metavar="WHY", help="End the programme.")
@click.option("--anew", is_flag=True, help="End the one that runs, and plan another.")
@click.option("--no-keep", is_flag=True, help="Only show; write nothing into the journal.")
@click.option("--by", "observer", metavar="NAME", help="Who plans it.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object.")
@click.option("--no-input", is_flag=True, help="Never ask.")
@journal_option
@pass_shop
@mends_input
def command(shop: Shop, /, as_json: bool, no_input: bool, calendar: Path | None, **options: Any) -> None:
    """Lays out the sprays for a planting, keeps them in the journal, and shows them again.

    \b
    Example:
      triage plan --planting "beans north"
      triage plan --planting "beans north" --weather garden.csv --harvest "20 aug"
      triage plan --planting "beans north" --found clean --no-pests
      triage plan --planting "beans north" --calendar sprays.ics

    It goes ahead only with a clean test patch: triage patch. What was sprayed, seen and picked
    comes from the journal; triage due has the days, and writes a spray down with one key.
    """
    from triage.cli.safety import home_country
    from triage.records.places import label
    from triage.screens.programme_page import programme_record, show_programme
    from triage.screens.safety_page import show_brief
    from triage.spraying.layout import lay_out
    from triage.spraying.patches import Mixed

    rules, who = Rules(shop), options.pop("observer") or shop.profile.settings.observer
    told = _told(shop, options)
    with shop.journal.write() as session:
        savepoint = session.begin_nested()
        planting = _planting(shop, session, options, may_ask(no_input, as_json))
        row, outset = _programme(shop, session, planting, told, options, rules, who)
        if options["why_ended"]:
            click.echo(_end(shop, session, row, options["why_ended"], who))
            return
        mix = mixed(shop, options["mix"], options["oil"], options["soap"])
        mix = mix if row is None else Mixed(row.mix, row.oil_percent, row.soap_percent)
        said = outset.judgement.cause
        since = since_of(session, planting, mix, said, outset.start, rules.programme, shop.today)
        programme = lay_out(outset, since, rules.programme, rules.holds, shop.today)
        keeps = not options["no_keep"] and (row is not None or programme.go)
        if keeps:
            row = _keep(shop, session, row, planting, mix, outset, who)
        name = label(planting, shop.crop_words)
        sent = None
        if calendar is not None:
            sent = _calendar(shop, session, row if keeps else None, programme, name, rules, who)
        about = {"id": row.uid if row else None, "kept": keeps, "planting": planting.uid, "crop": planting.crop}
        about |= {"variety": planting.variety, "bed": planting.bed.name, "cause": outset.judgement.cause}
        about |= {"mix": mix.name, "oil_percent": mix.oil_percent, "soap_percent": mix.soap_percent}
        if not keeps:
            savepoint.rollback()
    if calendar is not None and sent is not None:
        from triage.spraying.calendar_file import write_calendar

        write_calendar(calendar, sent)
    if as_json:
        click.echo(json.dumps(programme_record(programme, outset, about)))
        return
    against = f" against {outset.judgement.cause_name}" if outset.judgement.cause and not outset.scent else ""
    show_programme(programme, outset, f"{name}: {mix.name}{against}", rules.programme, shop.today, shop.screen)
    show_brief(shop.knowledge, shop.screen, home_country(shop))
    if calendar is not None:
        say(f"Written: {calendar}")
    if keeps:
        say("Kept. What is due: triage due")
    elif not options["no_keep"]:
        say("Nothing was kept: it may not go ahead yet.")


def _told(shop: Shop, options: dict[str, Any]) -> Any:
    """The options as the spraying room takes them. Raises BadInput."""
    from triage.spraying.planned import Told
    from triage.spraying.programme import Look
    from triage.spraying.weather import read_weather

    found, pests = options["found"], options["pests"]
    if found is None and (pests is not None or options["day"]):
        raise fail("--pests and --date go with --found", "add --found clean, hit or burnt", "--found")
    on = _day(shop, options["day"], "--date") or shop.today
    growth = None if found == "burnt" else found
    return Told(
        start=_day(shop, options["start"], "--start", True),
        weather=read_weather(options["weather"], options["units"]) if options["weather"] else None,
        harvests=tuple(_day(shop, text, "--harvest", True) for text in options["harvests"]),  # type: ignore[misc]
        last_sulfur=_day(shop, options["last_sulfur"], "--last-sulfur"),
        last_oil=_day(shop, options["last_oil"], "--last-oil"),
        thirsty=options["thirsty"],
        bloom=options["bloom"],
        bloom_over=_day(shop, options["bloom_over"], "--bloom-over", True),
        planted_out=_day(shop, options["planted_out"], "--planted-out"),
        dried=tuple(_day(shop, text, "--dried") for text in options["dried"]),  # type: ignore[misc]
        look=None if found is None else Look(on, growth, pests, found == "burnt"),
        scent=options["scent"],
    )


def _day(shop: Shop, text: str | None, option: str, future: bool = False) -> date | None:
    from triage.records.dates import parse_date

    return None if text is None else parse_date(text, shop.today, option, future=future)


def _planting(shop: Shop, session: Any, options: dict[str, Any], asks: bool) -> Any:
    """The planting that is meant; without a word that of the only programme. Raises BadInput."""
    from triage.records.places import label, plantings
    from triage.records.programmes import open_programmes

    place = {name: options[name] for name in ("planting", "crop", "bed", "variety")}
    planting = the_planting(shop, session, **place)
    if planting is not None:
        return planting
    running = open_programmes(session)
    if len(running) == 1:
        return running[0].planting
    if asks and (standing := plantings(session, standing=True)):
        from triage.screens.log_forms import choose_planting

        try:
            uid = choose_planting([(p.uid, label(p, shop.crop_words)) for p in standing], shop.plain)
        except (KeyboardInterrupt, EOFError):
            say("Left: nothing was written.")
            raise SystemExit(1) from None
        found = next((p for p in standing if p.uid == uid), None)
        if found is not None:
            return found
    listed = "; ".join(label(row.planting, shop.crop_words) for row in running)
    wrong = f"which planting? Programmes run on: {listed}" if running else "which planting?"
    raise fail(wrong, "give --planting WORDS, or --crop and --bed", "--planting")


def _programme(
    shop: Shop, session: Any, planting: Any, told: Any, options: dict[str, Any], rules: Rules, who: str | None
) -> tuple[Any, Any]:
    """The programme that runs on the planting, with what was said now; or none, and a new outset."""
    from triage.records.programmes import open_programmes
    from triage.spraying.gap import gap_for
    from triage.spraying.planned import new_outset, updated
    from triage.spraying.programme import from_data

    def gap_of(cause: str | None, weather: Any, start: date) -> Any:
        least = int(rules.holds.spray.number.value)
        return gap_for(cause, weather, start, rules.mites, rules.programme, least)

    running = open_programmes(session, planting)
    if running and options["anew"] and not options["no_keep"]:
        for row in running:
            _end(shop, session, row, "planned anew", who)
    if running and not options["anew"]:
        fixed = [name for name in ("cause", "verdict", "mix", "oil", "soap") if options[name] is not None]
        if fixed or told.scent:
            raise fail(
                "a programme runs on this planting", "--anew ends it and plans another", f"--{(*fixed, 'scent')[0]}"
            )
        row = running[0]
        return row, updated(from_data(row.outset, row.uid[:6]), told, shop.today, rules.programme, gap_of)
    if options["why_ended"]:
        raise fail("no programme runs on this planting", "see: triage due", "--end")
    judgement = _judgement(shop, session, planting, options)
    return None, new_outset(judgement, told, shop.today, rules.programme, gap_of)


def _judgement(shop: Shop, session: Any, planting: Any, options: dict[str, Any]) -> Any:
    """What is known of the damage: a verdict given, the planting's last visit, or the sheet of the cause named."""
    from triage.reasoning.yaml_text import parse, read_text
    from triage.records.programmes import last_case
    from triage.screens.journal_page import day_text
    from triage.spraying.judgement import from_sheet, from_verdict, no_verdict

    if options["verdict"] is not None:
        text = read_text(options["verdict"])
        return from_verdict(parse(text, str(options["verdict"])), str(options["verdict"]))
    cause = value_of(shop, "cause", options["cause"])
    case = last_case(session, planting, cause)
    if case is not None:
        return from_verdict(case.verdict, f"the visit of {day_text(case.visit.date)}")
    if cause is not None:
        return from_sheet(cause, shop.knowledge)
    if options["scent"]:
        return no_verdict()
    raise fail("nothing is known of the damage on this planting", "triage ask, or say --cause NAME", "--cause")


def _keep(shop: Shop, session: Any, row: Any, planting: Any, mix: Any, outset: Any, who: str | None) -> Any:
    from triage.records.entries import add
    from triage.records.programmes import change
    from triage.spraying.programme import to_data

    if row is not None:
        change(session, row, {"outset": to_data(outset), "date": outset.start}, who, shop.journal.clock())
        return row
    data = {"date": outset.start, "observer": who, "mix": mix.name, "oil_percent": mix.oil_percent}
    data |= {"soap_percent": mix.soap_percent, "cause": outset.judgement.cause, "outset": to_data(outset)}
    return add(session, "programme", planting, data, shop.journal.clock())


def _end(shop: Shop, session: Any, row: Any, why: str, who: str | None) -> str:
    from triage.cli.planning import kept
    from triage.records.programmes import change

    change(session, row, {"ended": shop.today, "why_ended": why}, who, shop.journal.clock())
    return kept(shop, session, "programme", row)


def _calendar(shop: Shop, session: Any, row: Any, programme: Any, name: str, rules: Rules, who: str | None) -> bytes:
    """The calendar file, and in the journal what was sent in it. Raises BadInput when there is nothing to send."""
    from triage.records.programmes import change
    from triage.spraying.calendar_file import Head, to_ical

    if row is None:
        raise fail("only a programme that is kept has a calendar", "it may not go ahead yet, or leave out --no-keep")
    rates = [f"{share:g}% {what}" for share, what in ((row.oil_percent, "oil"), (row.soap_percent, "soap")) if share]
    head = Head(row.uid, name, f"Mix: {row.mix}" + (f" ({', '.join(rates)})" if rates else ""))
    hour = rules.programme.calendar.alarm_hour
    content, sent = to_ical(programme, head, row.exported or {}, shop.journal.clock(), hour)
    change(session, row, {"exported": sent}, who, shop.journal.clock())
    return content
