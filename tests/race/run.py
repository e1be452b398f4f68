"""Race for the seats of scratch databases, over HTTP; prints a row for each figure.

``python -m tests.race.run`` races on SQLite in a file, and on PostgreSQL where one answers
(``COOP_DATABASE_URL``, else the local port 5432). Exits with 1 where a figure misses its goal.
"""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit
from uuid import uuid4

import psycopg

ROOT = Path(__file__).resolve().parent.parent.parent
LOCAL_POSTGRES = "postgres://postgres@127.0.0.1:5432/postgres"
LONGEST_S = 1500
FULL_RACE = {"requests": 200, "seats": 20, "rounds": 20, "control_rounds": 5}


def postgres_url() -> str | None:
    """Where a PostgreSQL answers on which a scratch database may be made; None: nowhere."""
    configured = os.environ.get("COOP_DATABASE_URL", "")
    url = configured if configured.startswith("postgres") else LOCAL_POSTGRES
    try:
        psycopg.connect(url, connect_timeout=3).close()
    except psycopg.OperationalError:
        return None
    return url


@contextmanager
def scratch_postgres(url: str) -> Iterator[str]:
    """A database of its own on the server, dropped afterwards."""
    name = f"race_{uuid4().hex[:12]}"
    with psycopg.connect(url, autocommit=True) as server:
        server.execute(f'CREATE DATABASE "{name}"')
    try:
        yield urlunsplit(urlsplit(url)._replace(path=f"/{name}"))
    finally:
        with psycopg.connect(url, autocommit=True) as server:
            server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def race(database_url: str, var_dir: str, **sizes: int) -> dict[str, Any]:
    """What happened in the races on one database; raises when its process fails."""
    options = [f"--{name.replace('_', '-')}={value}" for name, value in sizes.items()]
    done = subprocess.run(
        [sys.executable, "-m", "tests.race.one_database", *options],
        cwd=ROOT,
        env={
            **os.environ,
            "COOP_DATABASE_URL": database_url,
            "COOP_VAR_DIR": var_dir,
            "COOP_REDIS_URL": "",
            "COOP_RATE_LIMITS": "person=1000000",
            "COOP_LOG_LEVEL": "CRITICAL",
        },
        stdout=subprocess.PIPE,
        text=True,
        check=True,
        timeout=LONGEST_S,
    )
    return json.loads(done.stdout.splitlines()[-1])


def race_on_sqlite(**sizes: int) -> dict[str, Any]:
    with tempfile.TemporaryDirectory() as folder:
        return race(f"sqlite:///{folder}/race.sqlite3", folder, **sizes)


def race_on_postgres(url: str, **sizes: int) -> dict[str, Any]:
    with tempfile.TemporaryDirectory() as folder, scratch_postgres(url) as database_url:
        return race(database_url, folder, **sizes)


def main() -> int:
    url = postgres_url()
    missed = 0
    if url is None:
        print("no PostgreSQL answers: its rows are left out", file=sys.stderr)
    else:
        missed += _print("postgres", race_on_postgres(url, **FULL_RACE))
    missed += _print("sqlite", race_on_sqlite(**FULL_RACE))
    return 1 if missed else 0


def _print(database: str, found: dict[str, Any]) -> int:
    rounds, losers = FULL_RACE["rounds"], FULL_RACE["requests"] - FULL_RACE["seats"]
    rows = [
        ("sold_exactly", found["sold_exactly"], "rounds", rounds),
        ("refused", found["refused"], "requests", rounds * losers),
        ("errors", found["errors"] + found["uncoded"], "requests", 0),
        ("control_oversold", found["control_oversold"], "rounds", FULL_RACE["control_rounds"]),
    ]
    for name, value, unit, goal in rows:
        print(f"race_{database}_{name} {value} {unit} (goal {goal})", flush=True)
    # The control is a matter of luck: one round that oversells shows that the race bites.
    return sum(value != goal for _name, value, _unit, goal in rows[:3]) + (rows[3][1] == 0)


if __name__ == "__main__":
    sys.exit(main())
