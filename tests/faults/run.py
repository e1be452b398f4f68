"""Break things on purpose and print a row for each figure; exits with 1 where one misses its goal.

``python -m tests.faults.run`` runs all, ``python -m tests.faults.run kills`` those whose names
begin so. PostgreSQL and Redis are started by the run itself, in folders and on ports of their
own; each fault has a database and a process of its own, and a time by which it has to end.
"""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.faults.machine import ROOT, Postgres, Redis, free_port, own_postgres, own_redis

# In which order, and how many seconds each may take at most: some four times what it takes on
# two cores that do nothing else.
FAULTS = {
    "schedulers": 240,
    "clocks": 420,
    "forecasts": 240,
    "receivers": 480,
    "disk": 240,
    "disk_full": 900,
    "redis_away": 480,
    "postgres_away": 480,
    "kills": 900,
}
TEMPLATE = "faults_template"


def main(only: str = "") -> int:
    chosen = [name for name in FAULTS if name.startswith(only)]
    if not chosen:
        print(f"no fault begins with {only!r}: {', '.join(FAULTS)}", file=sys.stderr)
        return 1
    # Ends by an exception, so that the servers it started are ended too.
    signal.signal(signal.SIGTERM, lambda *_told: sys.exit("ended from outside"))
    failed = []
    with own_postgres() as postgres, own_redis() as redis:
        prepare(postgres)
        for name in chosen:
            if not run(name, postgres, redis):
                failed.append(name)
    print(f"failed: {', '.join(failed)}" if failed else "all held", file=sys.stderr)
    return 1 if failed else 0


def prepare(postgres: Postgres) -> None:
    """Make the tables once; each fault gets a copy."""
    postgres.statement(f"CREATE DATABASE {TEMPLATE}")
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "COOP_DATABASE_URL": postgres.url(TEMPLATE)}
        subprocess.run(
            [sys.executable, "manage.py", "migrate", "-v", "0", "--run-syncdb"],
            cwd=ROOT,
            env={**environment, "COOP_VAR_DIR": folder},
            check=True,
        )


def run(name: str, postgres: Postgres, redis: Redis) -> bool:
    """Run one fault in a process of its own; whether every row held."""
    database = f"faults_{name}"
    postgres.statement(f"CREATE DATABASE {database} TEMPLATE {TEMPLATE}")
    folder = Path(tempfile.mkdtemp(prefix=f"faults-{name}-"))
    folder.joinpath("static").mkdir()
    environment = {
        "COOP_DATABASE_URL": postgres.url(database),
        "COOP_REDIS_URL": redis.url,
        "COOP_QUEUE": database,
        "COOP_VAR_DIR": str(folder),
        "COOP_RATE_LIMITS": "person=1000000,anonymous=1000000",
        "COOP_WEBHOOKS_ALLOW_PRIVATE": "true",
        "COOP_EMAIL_URL": f"smtp://127.0.0.1:{free_port()}",
        "COOP_LOG_LEVEL": "WARNING",
        "DJANGO_SETTINGS_MODULE": "coop.settings",
        "FAULTS_POSTGRES": f"{postgres.folder}:{postgres.port}:{postgres.user or ''}",
    }
    command = [sys.executable, "-m", "tests.faults.one", name]
    log = folder / "log"
    with log.open("w") as written:
        process = subprocess.Popen(
            command, cwd=ROOT, env={**os.environ, **environment}, stderr=written
        )
        held = False
        try:
            held = process.wait(timeout=FAULTS[name]) == 0
        except subprocess.TimeoutExpired:
            print(f"{name} did not end within {FAULTS[name]} s", file=sys.stderr)
        finally:
            process.terminate()
            process.wait()
    if held:
        shutil.rmtree(folder, ignore_errors=True)
    else:
        print(f"{name}: see {folder}\n{log.read_text()[-3000:]}", file=sys.stderr)
    return held


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:2]))
