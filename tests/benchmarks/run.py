"""Print the benchmark rows: ``name value unit (goal …)``, one line a figure.

Each module of this folder with a function ``rows(only)`` yields its figures, whose names begin
with the module's own; ``only`` is the prefix asked for, so that costly work for other rows can
be left out. Ratios are measured in one run. ``python -m tests.benchmarks.run fit``
runs only the modules that can hold rows whose names begin with ``fit``, and prints those.
"""

import importlib
import os
import pkgutil
import sys
from collections.abc import Iterator
from types import ModuleType

import django

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.settings")


def modules() -> Iterator[ModuleType]:
    import tests.benchmarks as folder

    for found in pkgutil.iter_modules(folder.__path__):
        if found.name == "run":
            continue
        module = importlib.import_module(f"tests.benchmarks.{found.name}")
        if hasattr(module, "rows"):
            yield module


def main(prefix: str = "") -> int:
    django.setup()
    printed = 0
    for module in modules():
        own = module.__name__.rpartition(".")[2]
        if not (own.startswith(prefix) or prefix.startswith(own)):
            continue
        for name, value, unit, goal in module.rows(prefix):
            if name.startswith(prefix):
                print(f"{name} {value:.4g} {unit} (goal {goal or 'none'})", flush=True)
                printed += 1
    if not printed:
        print(f"no benchmark row begins with {prefix!r}", file=sys.stderr)
    return 0 if printed else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:2]))
