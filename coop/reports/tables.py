"""The tables of a report as CSV, from its stored figures."""

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from coop.api.instants import as_of_record
from coop.printing.cells import inert

Figures = Mapping[str, Any]
Rows = Iterable[Sequence[Any]]


@dataclass(frozen=True, kw_only=True)
class Table:
    """Column names, and how the rows come out of a report's figures."""

    columns: tuple[str, ...]
    rows: Callable[[Figures], Rows]
    for_managers: bool = False


def table_csv(table: Table, figures: Figures) -> str:
    """The table as RFC 4180 text with a header line; text cells cannot act as formulas."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(table.columns)
    for row in table.rows(figures):
        writer.writerow([inert(cell) for cell in row])
    return out.getvalue()


def columns_of(row_type: type[Any], section: str) -> Table:
    """A table with a column for each field of the rows of a section of figures."""
    columns = tuple(field.name for field in fields(row_type))

    def rows(figures: Figures) -> Rows:
        for one in figures[section]:
            yield tuple(one[column] for column in columns)

    return Table(columns=columns, rows=rows)


def of_record(figures: Figures) -> dict[str, Any]:
    """The figures with Z where it is told how far they look; the stored ones keep their digest."""
    return {**figures, "cut_off_at": as_of_record(figures["cut_off_at"])}


def by_the_clock_there(figures: Figures) -> Figures:
    """The figures with the offset of the property where somebody came and left; stored is UTC."""
    zone = ZoneInfo(figures["time_zone"])

    def local(instant: str | None) -> str | None:
        if instant is None:
            return None
        return datetime.fromisoformat(instant).astimezone(zone).isoformat(timespec="seconds")

    who = figures["who"]
    stays = [
        {**stay, "came_at": local(stay["came_at"]), "left_at": local(stay["left_at"])}
        for stay in who["presences"]
    ]
    return {**figures, "who": {**who, "presences": stays}}


def _stays(figures: Figures) -> Rows:
    vehicles = {one["person"]: one["vehicle"] for one in figures["who"]["people"]}
    for stay in by_the_clock_there(figures)["who"]["presences"]:
        yield (
            stay["on"],
            stay["person"],
            vehicles.get(stay["person"], ""),
            stay["standing"],
            stay["through"],
            stay["what"],
            stay["came_at"],
            stay["left_at"],
        )


def _calendar(figures: Figures) -> Rows:
    for day in figures["calendar"]:
        yield day["on"], day["morning"], day["evening"], "open" if day["open"] else "closed"


def _taken(figures: Figures) -> Rows:
    for deer in figures["deer"]["taken"]:
        yield deer["local_date"], deer["harvest_class"], deer["person"]


def _plan(figures: Figures) -> Rows:
    for one in figures["deer"]["classes"]:
        yield one["harvest_class"], one["in_month"], one["in_season"], one["planned"]


def _incidents(figures: Figures) -> Rows:
    for note in figures["incidents"]["notes"]:
        yield note["on"], note["topic"], note["what"], note["done"]


def _work(figures: Figures) -> Rows:
    for one in figures["work"]["done"]:
        yield one["kind"], one["count"], one["failed"], " ".join(one["days"]), ""
    for note in figures["work"]["notes"]:
        yield note["topic"], 1, 0, note["on"], note["what"]


def _next_dates(figures: Figures) -> Rows:
    for one in figures["next_dates"]:
        yield one["on"], one["until"], one["what"], one["name"], one["count"]


def _visits(figures: Figures) -> Rows:
    for one in figures["appendix"]["scrapes"]:
        whole = one["whole"]
        yield (
            one["name"],
            whole["visits"],
            whole["low"],
            whole["high"],
            whole["expected"],
            one["expected_low"],
            one["expected_high"],
            whole["camera_nights"],
            one["scent_on"],
            one["untagged_stays"],
        )


def _wind(figures: Figures) -> Rows:
    wind = figures["appendix"]["wind"]
    for sector, hours, sits in zip(wind["sectors"], wind["hours"], wind["sits"], strict=True):
        yield sector, sum(hours), sits


TABLES: dict[str, Table] = {
    "who": Table(
        columns=(
            "date",
            "name",
            "vehicle",
            "standing",
            "through",
            "what",
            "came_at",
            "left_at",
        ),
        rows=_stays,
    ),
    "calendar": Table(columns=("date", "morning", "evening", "land"), rows=_calendar),
    "deer": Table(columns=("date", "class", "by"), rows=_taken),
    "plan": Table(columns=("class", "this_month", "this_season", "planned"), rows=_plan),
    "incidents": Table(columns=("date", "topic", "what", "done"), rows=_incidents),
    "work": Table(columns=("kind", "count", "failed", "dates", "what"), rows=_work),
    "next_dates": Table(columns=("date", "until", "kind", "name", "count"), rows=_next_dates),
    "visits": Table(
        columns=(
            "scrape",
            "visits",
            "low",
            "high",
            "expected",
            "expected_low",
            "expected_high",
            "camera_nights",
            "last_scent_on",
            "untagged_stays",
        ),
        rows=_visits,
        for_managers=True,
    ),
    "wind": Table(columns=("from", "hours", "sits"), rows=_wind, for_managers=True),
}
