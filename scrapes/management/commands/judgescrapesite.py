"""Judge a place for a scrape, or search a property for places, now, in this process."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from properties.management.commands._property import add_property_argument, property_named
from scrapes.siting.queries import SiteAnswer, judge_place
from scrapes.siting.search import SearchAnswer, lay_search, run_search
from scrapes.siting.serializers import CAUTION

COLUMNS = ("", "latitude", "longitude", "against", "mark", "fits wind", "downwind", "off side")
_MARKS = {True: "+", False: "-", None: " "}


class Command(BaseCommand):
    help = (
        "Judge a place for a scrape (--place), or lay a grid along the property's corridors and "
        "food plots, judge all of it and tell the best. Each place comes with its reasons. Ends "
        "with how many places were laid, shut out and by what, judged, and how many fit the "
        "property's settings. Nothing is stored."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        add_property_argument(parser)
        parser.add_argument("--place", type=place, metavar="LON,LAT", help="judge this place alone")
        parser.add_argument(
            "--azimuth", type=float, help="where its branch points, degrees true; default: the best"
        )
        parser.add_argument("--spacing", type=float, help="metres between places of the grid")
        parser.add_argument("--reach", type=float, help="metres off corridors and plot edges")
        parser.add_argument("--most", type=int, default=10, help="places to tell; default: 10")
        parser.add_argument(
            "--at",
            type=datetime.fromisoformat,
            help="judge as of this instant (with offset); default: now",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        now = options["at"] or timezone.now()
        if now.tzinfo is None:
            raise CommandError("--at needs an offset, as in 2025-11-08T10:00:00-06:00")
        land = property_named(options["property"])
        if options["place"]:
            longitude, latitude = options["place"]
            answer = judge_place(
                land,
                longitude=longitude,
                latitude=latitude,
                branch_azimuth_deg=options["azimuth"],
                now=now,
            )
            self._tell([answer], property_name=land.name)
            counts = [sum(reason.holds is holds for reason in answer.reasons) for holds in _MARKS]
            self.stdout.write(
                f"{len(answer.reasons)} reasons = {counts[0]} hold + {counts[1]} object + "
                f"{counts[2]} told only."
            )
            return
        if options["azimuth"] is not None:
            raise CommandError("--azimuth belongs to --place; a search turns every branch best")
        found = self._search(land, now, options)
        self._tell(found.places, property_name=land.name)
        self.stdout.write(f"{land.name}, {_season(found)}: {found.reconciliation}")

    def _search(self, land: Any, now: datetime, options: dict[str, Any]) -> SearchAnswer:
        for name, least in (("spacing", 2), ("reach", 1), ("most", 1)):
            if options[name] is not None and not options[name] >= least:
                raise CommandError(f"--{name} must be at least {least}")
        try:
            laid = lay_search(land, now=now, spacing_m=options["spacing"], reach_m=options["reach"])
        except ValidationError as problem:
            raise CommandError(" ".join(problem.messages)) from problem
        return run_search(laid, most=options["most"])

    def _tell(self, answers: Sequence[SiteAnswer], *, property_name: str) -> None:
        rows = [COLUMNS, *(_row(number, each) for number, each in enumerate(answers, start=1))]
        widths = [max(len(row[column]) for row in rows) for column in range(len(COLUMNS))]
        for row in rows:
            cells = (cell.rjust(width) for cell, width in zip(row, widths, strict=True))
            self.stdout.write("  ".join(cells))
        for number, answer in enumerate(answers, start=1):
            self.stdout.write("")
            azimuth = answer.branch_azimuth_deg
            turned = "" if azimuth is None else f", branch to {azimuth:.0f}° true"
            self.stdout.write(
                f"{number}. {property_name}, {answer.latitude:.6f}, {answer.longitude:.6f}"
                f"{turned}; best from {answer.best_stand or 'no stand'}"
            )
            for reason in answer.reasons:
                self.stdout.write(f"   {_MARKS[reason.holds]} {reason.sentence}")
            for note in answer.not_judged:
                self.stdout.write(f"     {note}")
        self.stdout.write("")
        self.stdout.write(CAUTION)


def place(text: str) -> tuple[float, float]:
    longitude, latitude = (float(part) for part in text.split(","))
    if not (abs(longitude) <= 180 and abs(latitude) <= 85):
        raise ValueError(text)
    return longitude, latitude


def _row(number: int, answer: SiteAnswer) -> tuple[str, ...]:
    parts = answer.parts
    broadside = parts["broadside"]
    return (
        f"{number}.",
        f"{answer.latitude:.6f}",
        f"{answer.longitude:.6f}",
        f"{len(answer.objections)}",
        f"{answer.mark:.2f}",
        _share(parts["sessions"]),
        _share(parts["downwind"]),
        "?" if broadside is None else f"{90 * (1 - broadside):.0f}°",
    )


def _share(share: float | None) -> str:
    return "?" if share is None else f"{share:.0%}"


def _season(found: SearchAnswer) -> str:
    air = found.air
    return (
        f"season {air.first_on} to {air.last_on}, {len(air.wind.sessions)} of "
        f"{air.wind.sessions_past} past sessions with their wind on record"
    )
