"""The command line: thin commands over the rooms.

Errors leave as one plain line on standard error and exit code 2.
"""

import json
import os
import sys
from collections.abc import Callable
from contextlib import ExitStack
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

import fallowside
from fallowside import words
from fallowside.core.errors import BadBucket, FallowsideError
from fallowside.settings import Settings
from fallowside.store.database import Database
from fallowside.store.errors import Unreachable
from fallowside.terminal import asked, outlet

app = typer.Typer(
    name="fallowside",
    help="From scraps to food: the log of a small holding, its plan and its tally.",
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

DataFolder = Annotated[
    Path | None,
    typer.Option("--data", metavar="DIR", help="folder that holds the log [env: FALLOWSIDE_DATA]"),
]
Language = Annotated[
    str, typer.Option("--language", help=f"language to write in: {', '.join(words.LANGUAGES)}")
]
AsJson = Annotated[bool, typer.Option("--json", help="JSON, for machines")]
Host = Annotated[
    str | None,
    typer.Option("--host", help="address to serve on; 0.0.0.0 lets the whole network in [127.0.0.1]"),
]
Home = Annotated[bool, typer.Option("--home", help="for the phones of a house: https by its own certificate")]
BehindProxy = Annotated[
    str | None,
    typer.Option("--behind-proxy", metavar="NAME", help="a proxy on this machine serves it as https://NAME"),
]
Port = Annotated[int | None, typer.Option("--port", help="port to serve on [8000]", min=0, max=65535)]

_BAD_USE: type[Exception] = typer.BadParameter.__bases__[0].__bases__[0]
"""What the parser of the command line raises."""
_FAILED, _HELD = 2, 1
_TRACE = "FALLOWSIDE_TRACE"


def main() -> None:
    """Run the command line."""
    try:
        code = app(standalone_mode=False)
    except _BAD_USE as error:
        said: Callable[[], str] = getattr(error, "format_message", error.__str__)
        _fail(f"{said()} (see fallowside --help)")
    except FallowsideError as error:
        _fail(str(error))
    except typer.Exit as done:
        code = done.exit_code
    except (typer.Abort, KeyboardInterrupt):
        _fail("stopped")
    except BrokenPipeError:
        # Whoever read us has gone; so that the interpreter doesn't complain at its end:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 0
    except Exception as error:
        if os.environ.get(_TRACE):
            raise
        fault = f"{type(error).__name__}: {error}"
        _fail(f"a fault of the program, not yours: {fault} (with {_TRACE}=1 it says where)")
    sys.exit(code or 0)


def _fail(text: str) -> None:
    outlet.complain(text)
    sys.exit(_FAILED)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"fallowside {fallowside.__version__}")
        raise typer.Exit


@app.callback()
def _every(
    context: typer.Context,
    data: DataFolder = None,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="say the version")
    ] = False,
) -> None:
    context.obj = data


# -- serving -------------------------------------------------------------------------------------


@app.command()
def serve(
    context: typer.Context,
    home: Home = False,
    behind_proxy: BehindProxy = None,
    host: Host = None,
    port: Port = None,
    data: DataFolder = None,
) -> None:
    """Serve the app and the log to browsers and phones, until stopped."""
    if home and behind_proxy:
        raise asked.BadArgument("--home makes https itself; behind a proxy leave it out")
    if home and host is None:
        host = "0.0.0.0"
    settings = asked.settings(context, data, host=host, port=port, behind_proxy=behind_proxy)
    with asked.opened(settings, new=True) as database:
        _serve(settings, database, home=home)


@app.command()
def demo(
    context: typer.Context,
    no_serve: Annotated[bool, typer.Option("--no-serve", help="only load it")] = False,
    host: Host = None,
    port: Port = None,
    data: DataFolder = None,
) -> None:
    """Load an invented place with a history that ends today, show its plan, and serve it."""
    from fallowside.exchange import demo_store
    from fallowside.terminal import planned

    settings = asked.settings(context, data, host=host, port=port)
    with asked.opened(settings, new=True) as database:
        file = database.driver.file if demo_store.is_outdated(database, date.today()) else None
    if file is not None:
        _clear(settings, file)
    with asked.opened(settings, new=True) as database:
        with outlet.progress("the demo's entries") as step:
            done = demo_store.put(database, date.today(), asked.now_us, step)
        outlet.say((done, "note"))
        planned.show(outlet.console(), asked.plan(database, asked.local_now()))
        if not no_serve:
            print()
            _serve(settings, database)


def _serve(settings: Settings, database: Database, *, home: bool = False) -> None:
    from fallowside.api import serving
    from fallowside.store import daily
    from fallowside.terminal import pairing

    def started(where: serving.Serving) -> None:
        where_log = "PostgreSQL" if settings.database_url else str(settings.data)
        pairing.show_started(outlet.console(), where, where_log)

    manner = serving.Manner(
        settings.host,
        settings.port,
        tuple(settings.other_names),
        settings.behind_proxy,
        home,
        settings.sign_in,
        settings.push_contact,
        settings.places_under,
    )
    with ExitStack() as held:
        if settings.backup_dir is not None:
            days = settings.backup_keep_days
            held.enter_context(daily.kept(database, settings.backup_dir, days, date.today))
        serving.serve(settings.data, database, manner, started)


# -- phones --------------------------------------------------------------------------------------


@app.command()
def pair(
    context: typer.Context,
    person: Annotated[
        str | None, typer.Option("--for", metavar="NAME", help="whose phone it is [the first host]")
    ] = None,
    data: DataFolder = None,
) -> None:
    """Show a link, and a code for a phone's camera, that lets one phone in."""
    from fallowside.access import door
    from fallowside.api import pairing as links
    from fallowside.api import serving
    from fallowside.terminal import pairing

    settings = asked.settings(context, data)
    found = serving.serving(settings.data)
    if found is None:
        raise Unreachable("no server is running on this data folder; start one: fallowside serve --home")
    if found.open:
        raise Unreachable(
            "the server only listens to this machine; for phones start it so: fallowside serve --home"
        )
    with asked.opened(settings) as database:
        made, whose = door.invite(database, person, asked.now_us())
        people = door.people(database)
        link = links.pairing_link(settings.own_address or found.addresses[0], made.code)
        console = outlet.console()
        pairing.show_link(console, found, link, made.spaced, pairing.whose(people, whose))


@app.command()
def phones(context: typer.Context, data: DataFolder = None) -> None:
    """List the phones that are let in, and when each was last seen."""
    from fallowside.access import door
    from fallowside.terminal import pairing

    with asked.opened(asked.settings(context, data)) as database:
        pairing.show_phones(outlet.console(), door.phones(database, asked.now_us()), door.people(database))
        for one in door.alarms(database):
            outlet.say((pairing.alarm_words(one), "caution"))


@app.command()
def unpair(
    context: typer.Context,
    number: Annotated[int, typer.Argument(metavar="NUMBER", help="the phone's number in the list")],
    data: DataFolder = None,
) -> None:
    """Let a phone in no longer, from this moment on: for one that was lost."""
    from fallowside.access import door

    with asked.opened(asked.settings(context, data)) as database:
        if not door.unpair(database, number, asked.now_us()):
            raise asked.BadArgument(f"no phone of number {number} is let in; fallowside phones lists them")
    outlet.say(f"Phone {number} is no longer let in")


@app.command()
def probe(
    context: typer.Context,
    station: Annotated[str, typer.Argument(metavar="STATION", help="the station it reads, by its id")],
    end: Annotated[bool, typer.Option("--end", help="only end the one there is")] = False,
    data: DataFolder = None,
) -> None:
    """Make the token by which probes of a station send their readings; the one before it ends."""
    from fallowside.access import probes
    from fallowside.exchange import folded

    with asked.opened(asked.settings(context, data)) as database:
        known = folded.read(database, asked.local_now())[1].stations
        if station not in known:
            raise asked.BadArgument(
                f"no station is called {station}; there are {', '.join(known) or 'none yet'}"
            )
        if end:
            ended = probes.end(database, station, asked.now_us())
            outlet.say(f"Probes of {station} are no longer let in" if ended else f"{station} had no probe")
            return
        typer.echo(probes.start(database, station, asked.now_us()))
    outlet.say(("Whoever has this token can send readings of this station. It is shown only now.", "caution"))


@app.command()
def calendar(
    context: typer.Context,
    person: Annotated[str, typer.Argument(metavar="PERSON", help="name or id of a person of the place")],
    end: Annotated[bool, typer.Option("--end", help="end the address instead")] = False,
    data: DataFolder = None,
) -> None:
    """Make the secret address of a person's calendar of reminders; the one before it ends."""
    from fallowside.access import door
    from fallowside.api import calendars, serving

    settings = asked.settings(context, data)
    with asked.opened(settings) as database:
        who = door.named(door.people(database), person)
        token = calendars.remade(database, who.id, asked.now_us(), end=end)
    if token is None:
        outlet.say(f"No calendar of {who.name} can be fetched any more")
        return
    found = serving.serving(settings.data)
    for base in found.addresses if found else ["http://(where the server is reached)"]:
        outlet.say((calendars.address_of(base, token), "figure"))
    outlet.say(("Whoever has this address can read the reminders. It is shown only now.", "caution"))


# -- reading -------------------------------------------------------------------------------------


@app.command()
def plan(
    context: typer.Context,
    at: Annotated[str | None, typer.Option(help="instant, such as 2026-03-01T07:30:00+02:00 [now]")] = None,
    as_json: AsJson = False,
    language: Language = "en",
    data: DataFolder = None,
) -> None:
    """Show what to do today, and what is ahead."""
    from fallowside.exchange import folded
    from fallowside.terminal import planned

    instant = asked.instant(at)
    with asked.opened(asked.settings(context, data)) as database:
        if as_json:
            typer.echo(folded.plan_text(database, instant))
        else:
            with asked.speaking(language):
                planned.show(outlet.console(), asked.plan(database, instant))


@app.command()
def tally(
    context: typer.Context,
    since: Annotated[
        str | None, typer.Option("--from", help="first day, such as 2026-01-01 [the first entry's]")
    ] = None,
    until: Annotated[str | None, typer.Option("--to", help="last day, included [the last entry's]")] = None,
    as_json: AsJson = False,
    language: Language = "en",
    data: DataFolder = None,
) -> None:
    """Show what was kept out of landfill in a period, and what came out."""
    from fallowside.exchange import folded
    from fallowside.terminal import tallied

    period = asked.period(since, until)
    with asked.opened(asked.settings(context, data)) as database:
        found = folded.tally_of(database, asked.local_now(), *period)
    if as_json:
        typer.echo(json.dumps(found, ensure_ascii=False, allow_nan=False))
    else:
        with asked.speaking(language):
            tallied.show(outlet.console(), found)


@app.command()
def route(
    context: typer.Context,
    part: Annotated[
        list[str],
        typer.Argument(metavar="PART...", help='what is in it: "fish_heads=2kg", "bread=0.5 grey-pail"'),
    ],
    freezer: Annotated[
        float | None, typer.Option(min=0.0, max=10_000.0, help="room in the freezer, kg [the place's]")
    ] = None,
    as_json: AsJson = False,
    data: DataFolder = None,
) -> None:
    """Show where a bucket goes today, and why."""
    from fallowside.exchange import buckets, folded
    from fallowside.terminal import routed

    bucket = [buckets.part(text) for text in part]
    with asked.opened(asked.settings(context, data)) as database:
        try:
            found = folded.Kept(database).route(bucket, asked.local_now(), freezer)
        except BadBucket as error:
            place = folded.read(database, asked.local_now())[1]
            raise buckets.with_near(error, place.known().feedstocks) from error
    if as_json:
        typer.echo(json.dumps(found, ensure_ascii=False, allow_nan=False))
    else:
        routed.show(outlet.console(), found)


@app.command()
def report(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the file to make: .xlsx, .csv or .html")],
    since: Annotated[
        str | None, typer.Option("--from", help="first day, such as 2026-01-01 [the first entry's]")
    ] = None,
    until: Annotated[str | None, typer.Option("--to", help="last day, included [the last entry's]")] = None,
    language: Language = "en",
    data: DataFolder = None,
) -> None:
    """Write the tally of a period as a spreadsheet, as its ledger, or as one page to print."""
    from fallowside.exchange import report_files

    write, period = report_files.writer(file), asked.period(since, until)
    with asked.opened(asked.settings(context, data)) as database, asked.speaking(language):
        report_files.save(file, write(database, asked.local_now(), *period))
    outlet.console().print(f"Written to {file}")


@app.command()
def sheet(
    context: typer.Context,
    which: Annotated[str, typer.Argument(metavar="WHICH", help="stickers or handover")],
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the page to make, .html")],
    url: Annotated[
        str | None, typer.Option(help="address phones reach the server at, for the codes of stickers")
    ] = None,
    language: Language = "en",
    data: DataFolder = None,
) -> None:
    """Write a page to print: a sticker with a code for each station, or a hand-over sheet."""
    from fallowside.exchange import folded, report_files, sheets

    settings, at = asked.settings(context, data), asked.local_now()
    with asked.opened(settings) as database, asked.speaking(language):
        plan = folded.plan_of(database, at)
        if which == "handover":
            made = sheets.handover(plan, sheets.unanswered(database, at))
        elif which == "stickers":
            made = sheets.stickers(plan, url or f"http://{settings.host}:{settings.port}")
        else:
            raise asked.BadArgument(f"no such sheet: {which}; there are stickers and handover")
        page = sheets.page(made)
    report_files.save(file, page.encode())
    outlet.console().print(f"Written to {file}")


# -- entries in and out --------------------------------------------------------------------------


@app.command()
def load(
    context: typer.Context,
    file: Annotated[str, typer.Argument(metavar="FILE", help="entries as JSON Lines; - for standard input")],
    data: DataFolder = None,
) -> None:
    """Load entries; say which were held, and why. Exits 1 if any was."""
    from fallowside.exchange import entry_lines

    settings = asked.settings(context, data)
    with (
        asked.given(file) as source,
        asked.opened(settings, new=True) as database,
        outlet.progress("entries") as step,
    ):
        size = None if file == "-" else os.fstat(source.fileno()).st_size
        found = entry_lines.load(database, source, asked.now_us, progress=lambda done: step(done, size))
    there = f", {found.already:,} of them there already" if found.already else ""
    outlet.say((f"{found.accepted:,} accepted{there}", "good"))
    for one in found.held:
        outlet.say((f"line {one.line} held: {one.problem.message}", "caution"))
    if found.held:
        outlet.say(f"{len(found.held):,} held: kept aside, not in the plan; mend them and load them again")
        raise typer.Exit(_HELD)


@app.command()
def dump(context: typer.Context, data: DataFolder = None) -> None:
    """Write all entries to standard output as JSON Lines."""
    from fallowside.exchange import entry_lines

    with asked.opened(asked.settings(context, data)) as database:
        entry_lines.dump(database, sys.stdout.buffer)
        sys.stdout.buffer.flush()


@app.command()
def backup(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the file to make")],
    data: DataFolder = None,
) -> None:
    """Copy the store to one file, also while a server is running."""
    from fallowside.store import backup as backups

    with asked.opened(asked.settings(context, data)) as database:
        backups.backup(database, file)
    outlet.say(f"Backed up to {file}")


@app.command()
def restore(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the file of a backup")],
    without_photos: Annotated[bool, typer.Option("--without-photos", help="leave out missing ones")] = False,
    data: DataFolder = None,
) -> None:
    """Put a backup in the store's place, if it is sound; the old store is kept aside."""
    from fallowside.api import serving
    from fallowside.store import backup as backups

    settings = asked.settings(context, data)
    if settings.database_url:
        raise Unreachable("this store lives in PostgreSQL: restore it with pg_restore")
    with serving.unserved(settings.data):
        report, aside = backups.restore(settings.data, file, without_photos=without_photos)
    outlet.say(f"Restored {report.entries:,} entries from {file}")
    if aside is not None:
        outlet.say((f"The store that was there is now {aside}", "note"))


@app.command()
def check(context: typer.Context, as_json: AsJson = False, data: DataFolder = None) -> None:
    """Check that the store is whole. Exits 1 if it isn't."""
    from fallowside.store import integrity

    with asked.opened(asked.settings(context, data)) as database, outlet.progress("entries") as step:
        report = integrity.check(database, step)
    if as_json:
        typer.echo(
            json.dumps(
                {
                    "sound": report.sound,
                    "entries": report.entries,
                    "held": report.held,
                    "content": report.content,
                    "findings": report.findings,
                }
            )
        )
    else:
        for finding in report.findings:
            outlet.say((finding, "danger"))
        state = ("The store is whole", "good") if report.sound else ("The store is hurt", "danger")
        outlet.say(state, f": {report.entries:,} entries, {report.held:,} held")
        outlet.say((f"content {report.content}", "note"))
    if not report.sound:
        raise typer.Exit(1)


def _clear(settings: Settings, file: Path) -> None:
    """Take away a store, with its journal, that no server has open."""
    from fallowside.api import serving

    with serving.unserved(settings.data):
        for tail in ("", "-wal", "-shm"):
            file.with_name(file.name + tail).unlink(missing_ok=True)


if __name__ == "__main__":
    main()
