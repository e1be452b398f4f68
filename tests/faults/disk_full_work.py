"""People book, send files and wait for a report while the disk beneath them has no byte left.

Runs on the small disk that ``small_disk`` made. Everything that is answered 503 is sent again
under its key once there is room, as its client should; then rows and files are counted. The
control keeps a file as the framework does by itself, and the same count has to find its half.
"""

import os
import re
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import timedelta
from hashlib import sha256
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import httpx
import psycopg
from django.core.files.base import ContentFile
from django.core.files.storage import FileSystemStorage
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection
from django.utils import timezone
from PIL import Image

from coop.access.models import PersonalToken
from coop.access.roles import Role
from coop.backups.services import drill_backup
from coop.jobs import services
from coop.jobs.models import JobRun, JobState
from coop.management.commands.serve import shared_counts
from coop.reports import month_job
from coop.reports.models import MonthlyReport
from properties.incidents.models import EvidenceFile, Incident
from properties.land.models import Cooperative, Property
from scheduling.sits.models import Sit
from scrapes.cameras.jobs import IMPORT_OBSERVATIONS
from scrapes.cameras.models import Deployment, Observation
from tests.cast import grant, make_cast, make_person
from tests.coop.reports.months import make_rich_month
from tests.faults import one
from tests.faults.machine import serving
from tests.faults.postgres_away import SITS, half_bookings
from tests.faults.rows import Row, at_least, exactly
from tests.faults.small_disk import MIB, Disk
from tests.faults.waiting import Late, until
from tests.race import ground

BOOKERS, SEATS, MOST_WISHES, BUSY_WISHES = 24, 200, 400, 12
MOST_SEGMENTS, COMES_BACK_WITHIN_S = 500, 30
LAND = "Full"
DAYS = ground.DAYS - 1
ROWS_A_TABLE = 1_000
LOST = 0
"""Stands for the status of an answer that never came."""
_NO_ROOM = re.compile("No space left on device|database or disk is full")
_COMMANDS = {
    "savebackup": [],
    "exportmap": ["--property", LAND],
    "exportobservations": ["--property", LAND, "--as", "observations-csv"],
}


@dataclass
class Wish:
    """One request under one key, which may be sent again; ``answers`` are the statuses it got."""

    path: str
    token: str
    body: dict[str, Any] | None = None
    file: tuple[str, bytes] | None = None
    key: str = field(default_factory=lambda: uuid4().hex)
    answers: list[int] = field(default_factory=list)
    code: str = ""

    def send(self, address: str) -> int:
        headers = {"Authorization": f"Token {self.token}", "Idempotency-Key": self.key}
        told: dict[str, Any] = {"json": self.body}
        if self.file is not None:
            told = {"data": self.body, "files": {"file": self.file}}
        try:
            answer = httpx.post(f"{address}{self.path}", headers=headers, timeout=60, **told)
        except httpx.TransportError:
            self.answers.append(LOST)
            return LOST
        self.answers.append(answer.status_code)
        self.code = answer.json().get("code", "")
        return answer.status_code


@dataclass(frozen=True, kw_only=True)
class Work:
    """What is asked for while the disk is full, and how much there was of each before."""

    raced: ground.Ground
    runs: list[UUID]
    early: Wish
    uploads: tuple[Wish, ...]
    before: Counter[str]
    bookings: list[Wish] = field(default_factory=list)

    @property
    def unanswered(self) -> list[Wish]:
        return [wish for wish in (*self.bookings, *self.uploads) if wish.answers[-1] == 503]


def rows() -> Iterator[Row]:
    kind = os.environ["FAULTS_DISK_KIND"]
    disk = Disk(Path(os.environ["FAULTS_SMALL_DISK"]))
    work = _prepared()
    with shared_counts() as counts:
        os.environ["PROMETHEUS_MULTIPROC_DIR"] = str(counts)
        with serving(Path(os.environ["FAULTS_ELSEWHERE"])) as address:
            for row in _rows(work, disk, address):
                yield replace(row, name=f"disk_full_{kind}_{row.name}")


def _rows(work: Work, disk: Disk, address: str) -> Iterator[Row]:
    first = _booking(work, number=0)
    until(lambda: first.send(address) == 201, within_s=120, what="a first booking")
    assert work.early.send(address) == 202
    work.runs.append(JobRun.objects.get(name=IMPORT_OBSERVATIONS).id)
    assert _refused_commands(disk) == 0
    kept = _kept(disk)
    connection.close()
    has_wal = os.environ["FAULTS_DISK_KIND"] == "postgres_wal"
    held = psycopg.connect(one.postgres().url("postgres"), autocommit=True) if has_wal else None
    yield at_least("filled", disk.fill() / MIB, "MiB of ballast", 1)
    yield exactly("free", disk.free_bytes, "bytes", 0)
    yield from _while_full(work, disk, address)
    yield from _without_wal(held, work, address)
    yield exactly("half_files", len(_kept(disk) ^ kept), "files", 0)
    yield from _control(disk, kept)
    disk.make_room()
    yield Row(name="started_by_hand", value=_started_again(), unit="servers")
    until(lambda: _reads(work, address), within_s=120, what="answers with room")
    yield from _nothing_half(work)
    yield from _with_room(work, disk, address)


def _prepared() -> Work:
    raced = ground.prepare(members=BOOKERS, seats=SEATS)
    # The cast of the race and that of the month have the same names.
    for row in Cooperative.objects.all():
        Cooperative.objects.filter(id=row.id).update(name=f"{row.name}, racing")
    cast = make_cast()
    land = make_rich_month(cast).land
    Property.objects.filter(id=land.id).update(name=LAND)
    manager = make_person(cast.cooperative, "Dora Disk")
    grant(manager, Role.MANAGER, land)
    _row, token = PersonalToken.objects.create(user=manager.user)
    now = timezone.now()
    incident = Incident.objects.create(
        property=land,
        kind="open_gate",
        happened_at=now,
        place_words="the north gate",
        what="It stood open.",
        reported_by=manager,
    )
    hung = Deployment.objects.filter(scrape__property=land).earliest("starts_at")
    Deployment.objects.filter(id=hung.id).update(code="full")
    hung.refresh_from_db()
    run = services.enqueue(
        name=month_job.NAME,
        now=now,
        property_id=land.id,
        parameters={"property": str(land.id), "month": "2025-10"},
    )
    imports = "/api/v1/observation-imports/"

    def import_of(name: str, padding: int) -> Wish:
        told = {"property": str(land.id), "format": "csv"}
        return Wish(imports, token, told, (f"{name}.csv", _table(hung, name, padding)))

    uploads = (
        Wish(f"/api/v1/incidents/{incident.id}/files/", token, {}, ("gate.png", _picture())),
        import_of("small", padding=1),
        import_of("spooled", padding=3 * MIB // ROWS_A_TABLE),
    )
    return Work(
        raced=raced,
        runs=[run.id],
        early=import_of("early", padding=1),
        uploads=uploads,
        before=_counts(),
    )


def _picture() -> bytes:
    """Noise, so that it stays large."""
    out = BytesIO()
    Image.effect_noise((700, 700), 100).save(out, "PNG")
    return out.getvalue()


def _table(hung: Deployment, name: str, padding: int) -> bytes:
    """Observations; with much padding a form is kept in a file while it is read."""
    lines = ["instant,deployment,observation_id,kind,species,remark"]
    for number in range(ROWS_A_TABLE):
        at = (hung.starts_at + timedelta(minutes=number)).isoformat()
        lines.append(
            f"{at},{hung.code},{name}-{number},animal,Odocoileus virginianus,{'x' * padding}"
        )
    return "\n".join(lines).encode()


def _booking(work: Work, *, number: int) -> Wish:
    raced = work.raced
    body = {
        "stand": str(raced.stands[number // DAYS % len(raced.stands)].id),
        "local_date": (raced.today + timedelta(days=1 + number % DAYS)).isoformat(),
        "span": ("morning", "evening")[number % 2],
        "weapon": "bow",
    }
    wish = Wish(SITS, raced.tokens[number % BOOKERS], body)
    work.bookings.append(wish)
    return wish


def _while_full(work: Work, disk: Disk, address: str) -> Iterator[Row]:
    told: Counter[int] = Counter()
    for number in range(1, MOST_WISHES):
        told[_booking(work, number=number).send(address)] += 1
        if told[503] == BUSY_WISHES:
            break
    yield exactly("bookings_busy", told[503], "bookings answered 503", BUSY_WISHES)
    others = sum(n for status, n in told.items() if status not in (201, 409, 503))
    yield exactly("bookings_otherwise", others, "bookings answered otherwise", 0)
    busy = sum(wish.send(address) == 503 for wish in work.uploads)
    yield exactly("uploads_busy", busy, "files answered 503", len(work.uploads))
    named = sum(wish.code == "no_room" for wish in work.unanswered)
    yield Row(name="named", value=named, unit=f"of {len(work.unanswered)} answers named no_room")
    yield Row(name="read_meanwhile", value=_reads(work, address), unit="lists of sits read")
    runs = [_tried(run_id) for run_id in work.runs]
    told_why = sum(run is not None and bool(_NO_ROOM.search(run.error)) for run in runs)
    yield Row(name="jobs_told", value=told_why, unit=f"of {len(runs)} jobs could write down why")
    done = sum(run is not None and run.state == JobState.DONE for run in runs)
    yield exactly("jobs_done_without_room", done, "jobs", 0)
    yield exactly("commands_refused", _refused_commands(disk), "commands", len(_COMMANDS))


def _without_wal(held: psycopg.Connection[Any] | None, work: Work, address: str) -> Iterator[Row]:
    """Ask for segments of the log until there is no room for another, which ends PostgreSQL."""
    if held is None:
        return
    for _segment in range(MOST_SEGMENTS):
        with suppress(psycopg.Error):
            held.execute("SELECT pg_logical_emit_message(false, 'full', 'x')")
            held.execute("SELECT pg_switch_wal()")
        if held.broken:
            break
    yield exactly("ended_for_want_of_wal", held.broken, "servers", 1)
    number = len(work.bookings)
    busy = sum(_booking(work, number=number + each).send(address) == 503 for each in range(3))
    yield exactly("bookings_busy_without_wal", busy, "bookings answered 503", 3)


def _control(disk: Disk, kept: set[tuple[str, str]]) -> Iterator[Row]:
    storage = FileSystemStorage(location=disk.folder / "var" / "media")
    with suppress(OSError):
        storage.save("control", ContentFile(bytes(MIB)))
    yield exactly("control_half_found", len(_kept(disk) ^ kept), "files", 1)
    storage.delete("control")


def _nothing_half(work: Work) -> Iterator[Row]:
    grown = _counts() - work.before
    booked = sum(wish.answers[-1] == 201 for wish in work.bookings)
    yield exactly("bookings_half", grown["half"], "bookings", 0)
    yield exactly("bookings_kept", grown["sits"], "bookings", booked)
    yield exactly("reports_half", grown["reports"], "editions", 0)
    yield exactly("uploads_half", grown["evidence"] + grown["imports"], "files", 1)
    yield exactly("observations_half", grown["observations"], "rows", 0)


def _with_room(work: Work, disk: Disk, address: str) -> Iterator[Row]:
    again = work.unanswered
    for wish in again:
        wish.send(address)
    taken = sum(wish.answers[-1] in (201, 202, 409) for wish in again)
    yield exactly("sent_again_and_answered", taken, "requests", len(again))
    for run in JobRun.objects.filter(state__in=[JobState.QUEUED, JobState.RUNNING]):
        _tried(run.id)
    grown = _counts() - work.before
    booked = sum(wish.answers[-1] == 201 for wish in work.bookings)
    yield at_least("bookings_in_the_end", booked, "bookings", 2)
    yield exactly("bookings_twice", grown["sits"] - booked, "bookings", 0)
    yield exactly("evidence_in_the_end", grown["evidence"], "files", 1)
    yield exactly("reports_in_the_end", grown["reports"], "editions", 1)
    yield exactly("observations_in_the_end", grown["observations"], "rows", 3 * ROWS_A_TABLE)
    yield exactly("commands_refused_in_the_end", _refused_commands(disk), "commands", 0)
    drill = drill_backup(database=connection.settings_dict)
    yield exactly("backup_differences", len(drill.differences), "differences", 0)


def _counts() -> Counter[str]:
    return Counter(
        half=half_bookings(),
        sits=Sit.objects.count(),
        reports=MonthlyReport.objects.count(),
        evidence=EvidenceFile.objects.count(),
        imports=JobRun.objects.filter(name=IMPORT_OBSERVATIONS).count(),
        observations=Observation.objects.count(),
    )


def _tried(run_id: UUID) -> JobRun | None:
    """One attempt, an hour on, so that neither pause nor lease stands in its way; None where the
    database had no room to take it up or to write down how it ended."""
    try:
        return services.run_job(run_id=run_id, now=timezone.now() + timedelta(hours=1))
    except DatabaseError:
        return None
    finally:
        connection.close()


def _reads(work: Work, address: str) -> bool:
    headers = {"Authorization": f"Token {work.raced.tokens[0]}"}
    with suppress(httpx.TransportError):
        return httpx.get(f"{address}{SITS}", headers=headers, timeout=60).status_code == 200
    return False


def _started_again() -> int:
    """How often PostgreSQL did not come back by itself and was started by whoever runs it."""
    if connection.vendor != "postgresql":
        return 0
    with suppress(Late):
        until(one.postgres().answers, within_s=COMES_BACK_WITHIN_S, what="PostgreSQL is back")
        return 0
    one.postgres().control("start")
    return 1


def _refused_commands(disk: Disk) -> int:
    refused = 0
    for name, options in _COMMANDS.items():
        out = disk.folder / "out" / name
        told = [str(out)] if name == "savebackup" else ["--output", str(out)]
        try:
            call_command(name, *options, *told, stdout=StringIO())
        except (CommandError, DatabaseError):
            refused += 1
        finally:
            connection.close()
    return refused


def _kept(disk: Disk) -> set[tuple[str, str]]:
    """Every file but those of databases and counters, and what is in it."""
    found = set()
    for folder in ("var", "tmp", "out"):
        for path in disk.folder.joinpath(folder).rglob("*"):
            if path.is_file():
                found.add((str(path), sha256(path.read_bytes()).hexdigest()))
    return found
