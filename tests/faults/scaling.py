"""What one machine holds: unit costs measured on PostgreSQL, and a season queued through them.

``python -m tests.faults.scaling`` lays out the demo's cooperative on a PostgreSQL of its own,
measures what one of each work costs (processor seconds of the process and of its database
connection together) and how large rows are, and then lets a day of many properties queue for
workers. Prints ``scaling_NAME value unit``. ``COSTS_FILE`` set to a file of measured costs
(JSON) skips the measuring.
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.faults.machine import ROOT, own_postgres, own_redis
from tests.faults.scaling_queue import Costs, Load, day_of

PROPERTIES = (30, 100, 300, 1000)
WORKERS = (1, 2, 4)
LONGEST_S = 2400


def main() -> int:
    kept = os.environ.get("COSTS_FILE", "")
    measured = json.loads(Path(kept).read_text()) if kept else measure()
    for name, value in measured["figures"].items():
        print(f"scaling_{name} {value:.4g} {measured['units'][name]}")
    costs = Costs(**measured["costs"])
    for properties in PROPERTIES:
        for workers in WORKERS:
            load = Load(properties=properties)
            day = day_of(load, costs, workers=workers, seed=8)
            print(
                f"scaling_day_of_{properties}_by_{workers} busy {100 * day.busy_share:.3g} %, "
                f"nightly work done after {day.night_done_h:.3g} h, longest wait "
                f"{day.longest_wait_min:.3g} min, of a bell by day {day.day_wait_s:.3g} s, "
                f"left at the end {day.left} jobs"
            )
            one_queue = day_of(load, costs, workers=workers, seed=8, in_turn=False)
            apart = day_of(load, costs, workers=workers, seed=8, urgent_workers=1)
            print(
                f"scaling_urgent_of_{properties}_by_{workers} longest wait of a look after "
                f"hunters: in one queue {one_queue.urgent_wait_s:.3g} s, by turns "
                f"{day.urgent_wait_s:.3g} s, with one worker beside for urgent work "
                f"{apart.urgent_wait_s:.3g} s; longest of all in one queue "
                f"{one_queue.longest_wait_min:.3g} min, of a bell by day "
                f"{one_queue.day_wait_s:.3g} s"
            )
    return 0


def measure() -> dict[str, dict[str, object]]:
    """In a process of its own, whose environment names the scratch database."""
    with own_postgres() as postgres, own_redis() as redis, tempfile.TemporaryDirectory() as var:
        Path(var, "static").mkdir()
        postgres.statement("CREATE DATABASE scaling")
        environment = {
            **os.environ,
            "COOP_DATABASE_URL": postgres.url("scaling"),
            "COOP_REDIS_URL": redis.url,
            "COOP_VAR_DIR": var,
            "COOP_WEBHOOKS_ALLOW_PRIVATE": "true",
            "COOP_RATE_LIMITS": "person=1000000",
            "COOP_LOG_LEVEL": "ERROR",
            "DJANGO_SETTINGS_MODULE": "coop.settings",
        }
        done = subprocess.run(
            [sys.executable, "-m", "tests.faults.scaling_costs"],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            text=True,
            check=True,
            timeout=LONGEST_S,
        )
        return json.loads(done.stdout.splitlines()[-1])


if __name__ == "__main__":
    sys.exit(main())
