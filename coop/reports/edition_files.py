"""An edition of a report as files in a folder, for the commands that write reports."""

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from uuid import UUID

from django.utils.text import slugify

from coop.reports.models import MonthlyReport, SeasonReport
from coop.whole_files import whole_file


def file_stems(names: Iterable[tuple[UUID, str]]) -> Mapping[UUID, str]:
    """How the files of each begin, by id: its name, and its id where the name does not tell it.

    ``names`` are those of all who may ever write into one folder, whoever is written now.
    """
    slugs = {one_id: slugify(name) for one_id, name in names}
    alike = Counter(slugs.values())
    return {
        one_id: slug if slug and alike[slug] == 1 else f"{slug}-{one_id}".lstrip("-")
        for one_id, slug in slugs.items()
    }


def write_edition_files(
    out: Path, *, stem: str, report: MonthlyReport | SeasonReport
) -> list[Path]:
    """Write pages, figures and, where there is one, the PDF; every name begins with ``stem``.

    Makes the folder ``out``. Each file is there whole or not at all. Raises ``OSError``.
    """
    files = {f"{stem}.html": report.html.encode()}
    if isinstance(report, MonthlyReport):
        files[f"{stem}-appendix.html"] = report.appendix_html.encode()
    files[f"{stem}.json"] = json.dumps(report.figures, indent=1, ensure_ascii=False).encode()
    if report.pdf is not None:
        files[f"{stem}.pdf"] = bytes(report.pdf)
    out.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        with whole_file(out / name) as file:
            file.write(content)
    return [out / name for name in files]
