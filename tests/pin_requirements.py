"""Pin the requirements of pyproject.toml for every supported Python, into the two lock files."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
RUNTIME = ROOT / "requirements.txt"
TESTS = ROOT / "tests" / "requirements.txt"


def resolved(*options: str) -> list[str]:
    command = [
        *(sys.executable, "-m", "uv", "pip", "compile", "--quiet", "--universal"),
        *("--python-version", "3.11", "--no-header", "--no-annotate", "--no-emit-index-url"),
        *options,
        str(ROOT / "pyproject.toml"),
    ]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return done.stdout.splitlines()


def main() -> None:
    runtime = resolved()
    everything = resolved("--extra", "test", "--constraint", str(RUNTIME))
    RUNTIME.write_text("\n".join(runtime) + "\n")
    only_tests = [line for line in everything if line not in runtime]
    TESTS.write_text("\n".join(["-r ../requirements.txt", *only_tests]) + "\n")


if __name__ == "__main__":
    main()
