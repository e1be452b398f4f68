"""Production settings pass Django's own checks for deployment, and ours."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

PRODUCTION = {
    "COOP_SECRET_KEY": "a-key-of-this-test-alone-0123456789-ABCDEFGHIJKLMNOPQRSTUVWXYZ",
    "COOP_BEHIND_TLS": "true",
    "COOP_ALLOWED_HOSTS": "coop.example.org",
    "COOP_BASE_URL": "https://coop.example.org",
}


def checked(folder: Path, *options: str, **changes: str) -> subprocess.CompletedProcess[str]:
    environment = {name: value for name, value in os.environ.items() if name[:5] != "COOP_"}
    environment |= {**PRODUCTION, "COOP_VAR_DIR": str(folder), **changes}
    return subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING", *options],
        cwd=settings.BASE_DIR,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


def test_production_settings_pass_every_check_for_deployment(tmp_path):
    done = checked(tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert "no issues" in done.stdout


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"COOP_SECRET_KEY": settings.DEMO_SECRET_KEY}, "coop.E001"),
        ({"COOP_WEBHOOKS_ALLOW_PRIVATE": "true"}, "coop.E002"),
        ({"COOP_BEHIND_TLS": "false"}, "security.W004"),
        ({"COOP_DEBUG": "true"}, "security.W018"),
    ],
)
def test_what_should_not_be_deployed_is_told_by_code(tmp_path, change, told):
    done = checked(tmp_path, "--tag", "security", **change)
    assert done.returncode == 1
    assert told in done.stderr
