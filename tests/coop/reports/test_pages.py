"""The rendered pages: what they must hold, what they must never hold, and how they are built."""

import contextlib
import re
import zlib
from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from weasyprint import HTML

from coop.printing import palette
from coop.printing.paper import to_pdf
from coop.printing.privacy import WITHHELD
from coop.reports.gather import gather
from coop.reports.models import LandNote
from coop.reports.pages import write_pages
from coop.reports.queries import settings_in_force
from coop.reports.tables import TABLES, table_csv
from properties.land.models import Property
from properties.people.models import Person
from scheduling.sits.models import Sit
from scrapes.cameras.models import Deployment, Observation, ObservationImport
from tests.coop.reports.conftest import figures_of
from tests.coop.reports.months import AFTER, OCTOBER, make_poor_month, make_report, make_sit
from tests.coop.reports.outline import Outline

# Tests of pages rendered beforehand need the database to exist, too.
pytestmark = pytest.mark.django_db


def pages_of(land):
    return write_pages(figures_of(land), edition=1, changes=[])


def test_the_page_answers_the_landowners_questions_in_their_order(rendered):
    words = Outline(rendered.pages.html).words
    order = [
        "Who was on the land",
        "Ann Abernathy",
        "Guest of Ann Abernathy",
        "Deer taken",
        "Incidents, and what was done",
        "The lower gate stood open in the morning.",
        "the chain was replaced on the 14th",
        "Work done",
        "Creek plot limed and seeded with rye (Oct 9)",
        "Next dates",
        "Whom to call",
        "Max Manager",
        rendered.manager_phone,
    ]
    places = [words.index(part) for part in order]

    assert places == sorted(places)


def test_a_page_states_period_zone_cut_off_sources_settings_and_what_it_does_not_say(rendered):
    pages = rendered.pages
    for html in (pages.html, pages.appendix_html):
        words = Outline(html).words
        assert "October 1, 2025 to October 31, 2025, by the clocks of America/Chicago" in words
        assert "Data up to: November 1, 2025, 6:30 AM" in words
        assert "Made from what the cooperative's members entered" in words
        assert "Whoever checked in was there." in words
        assert "It says nothing about whether a stand, a time or a shot was safe or lawful" in words
    assert "Settings: a season's year begins with month 7" in Outline(pages.html).words
    assert "independence: 30 minutes" in Outline(pages.appendix_html).words


def _never(rendered):
    """What must appear in no file for a landowner, as the database held it."""
    places = [f"{value:.{digits}f}" for value in rendered.places for digits in range(3, 8)]
    corners = ["-91.4", "-91.5", "43.20", "43.21"]
    from_reports = ["sneak", "Otto Member", "555-0142", "43.2076"]
    bucks = ["Crooked Brow", "ten-pointer", "scar on left shoulder", "61.5"]
    papers = ["harness_allergy_note", "licence", "waiver", "hunter_education"]
    hidden = ["Secret bedding", "Hidden sanctuary", "North plot scrape", "Stand A", "Unit 0"]
    contacts = [*rendered.phones, *rendered.emails, *rendered.kin, "555-0199"]
    fit = ["0.87654", "0.877", "fit score"]
    return [*places, *corners, *contacts, *from_reports, *bucks, *papers, *hidden, *fit]


def test_no_file_for_landowners_holds_what_the_never_list_names(rendered):
    told = rendered.figures.as_dict()
    files = {
        "html": _without_drawing(rendered.pages.html),
        "print": _without_drawing(rendered.pages.print_html),
        "json": str({key: value for key, value in told.items() if key != "appendix"}),
        **{
            name: table_csv(table, told) for name, table in TABLES.items() if not table.for_managers
        },
    }
    for name, content in files.items():
        for secret in _never(rendered):
            assert secret not in content, f"{secret} stands in {name}"
    assert rendered.manager_phone in files["html"]


def _without_drawing(html):
    """The page without the numbers of path data, which are places on paper, not on earth."""
    assert 'd="M' in html or "data:image/svg+xml" in html
    html = re.sub(r'(?<= )(d|x|y|width|height|transform|viewBox)="[^"]*"', "", html)
    return re.sub(r"data:image/svg\+xml;base64,[^\"]*", "", html)


def test_drawn_text_holds_no_stand_scrape_or_camera(rendered):
    drawn = " ".join(re.findall(r"<text[^>]*>([^<]*)</text>", rendered.pages.html))

    assert "Creek plot" in drawn
    for name in ("Stand", "scrape", "Unit", "bedding", "sanctuary"):
        assert name not in drawn


def test_the_managers_appendix_has_no_contacts_and_no_coordinates_either(rendered):
    visible = _without_drawing(rendered.pages.appendix_html)
    contacts = [*rendered.emails, *rendered.phones, "555-0199"]
    places = [f"{value:.4f}" for value in rendered.places]

    for secret in [*contacts, *places, "Crooked Brow", "sneak"]:
        assert secret not in visible


def test_text_that_slipped_in_with_a_number_is_withheld(rich):
    LandNote.objects.filter(topic="gate").update(what="Ring 608-555-0142 about the gate")
    html = pages_of(rich.land).html

    assert "555-0142" not in html
    assert WITHHELD in Outline(html).words


def test_text_from_the_database_cannot_become_markup(rich):
    LandNote.objects.filter(topic="gate").update(what="<script>alert(1)</script>")
    Property.objects.filter(id=rich.land.id).update(name="<b>North</b>")
    rich.land.refresh_from_db()
    html = pages_of(rich.land).html

    assert "<script" not in html
    assert "<b>North" not in html


@pytest.mark.parametrize("which", ["html", "print_html", "appendix_html"])
def test_pictures_have_words_and_tables_have_captions_and_headers(rendered, which):
    outline = Outline(getattr(rendered.pages, which))
    pictures = [one.get("aria-label") for tag, one in outline.tags if one.get("role") == "img"] + [
        one.get("alt") for one in outline.of("img")
    ]

    assert len(pictures) == len(outline.of("figure")) > 1
    assert all(words and len(words) > 20 for words in pictures)
    assert len(outline.of("table")) == len(outline.of("caption"))
    assert all(header.get("scope") in ("row", "col") for header in outline.of("th"))
    (page,) = outline.of("html")
    assert page["lang"] == "en-us"


def test_the_words_for_the_calendar_tell_every_day_with_its_sits(rendered):
    figures = rendered.figures
    words = " ".join(one.get("aria-label", "") for _tag, one in Outline(rendered.pages.html).tags)

    for day in figures.calendar:
        told = f"Oct {day.on.day}: " in words
        assert told == bool(day.morning or day.evening)


def test_a_page_needs_nothing_from_elsewhere_and_no_id_stands_twice(rendered):
    for html in (rendered.pages.html, rendered.pages.appendix_html):
        outline = Outline(html)
        ids = [one["id"] for _tag, one in outline.tags if "id" in one]
        assert len(ids) == len(set(ids))
        for tag in ("script", "link", "iframe", "img"):
            assert not outline.of(tag)
        fetched = re.findall(r"(?:src|url\()\s*=?\s*[\"']?(https?:[^\"')]+)", html)
        assert not fetched


def test_the_same_figures_give_the_same_bytes(rendered):
    figures = rendered.figures
    first = write_pages(figures, edition=1, changes=[])
    again = write_pages(figures, edition=1, changes=[])

    assert first == again


@pytest.mark.parametrize(
    ("front", "ground", "least"),
    [
        # WCAG 2.2: 4.5 for text, 3 for what a picture tells.
        (palette.INK, palette.PAPER, 4.5),
        (palette.INK, palette.PANEL, 4.5),
        (palette.INK, palette.PALE, 4.5),
        (palette.MUTED, palette.PAPER, 4.5),
        (palette.MUTED, palette.PANEL, 4.5),
        (palette.PAPER, palette.BLUE, 4.5),
        (palette.BLUE, palette.PAPER, 3.0),
        (palette.BLUE, palette.PANEL, 3.0),
        (palette.ORANGE, palette.PAPER, 3.0),
        (palette.ORANGE, palette.PANEL, 3.0),
        (palette.GREEN, palette.PANEL, 3.0),
        (palette.BLUE, palette.PALE, 3.0),
    ],
)
def test_colours_stand_out_by_day_and_by_night(front, ground, least):
    assert palette.contrast(front.light, ground.light) >= least
    assert palette.contrast(front.dark, ground.dark) >= least


def test_black_on_white_has_the_greatest_contrast_there_is():
    # WCAG 2.2, definition of contrast ratio: from 1 to 21.
    assert palette.contrast("#000000", "#ffffff") == pytest.approx(21)
    assert palette.contrast("#777777", "#777777") == 1


def test_a_dark_screen_gets_every_colour_anew_and_paper_none(rendered):
    pages = rendered.pages

    assert "prefers-color-scheme: dark" in pages.html
    for colour in palette.ALL:
        assert f"--{colour.name}: {colour.dark}" in pages.html
        assert colour.dark not in pages.print_html
    drawing = pages.html[pages.html.index("<main>") :]
    assert all(colour.light not in drawing for colour in palette.ALL)


@pytest.mark.parametrize(
    ("units", "paper", "area"), [("us", "Letter", "acres"), ("metric", "A4", "ha")]
)
def test_units_and_paper_are_the_landowners(cast, units, paper, area):
    Person.objects.filter(id=cast.landowner.id).update(units=units)
    pages = pages_of(cast.north)

    assert f"size: {paper};" in pages.print_html
    assert area in Outline(pages.html).words
    assert "size: Letter" not in pages.html
    assert ("mph" if units == "us" else "m/s") in pages.appendix_html


def test_an_empty_month_says_so_in_every_section(cast):
    words = Outline(pages_of(cast.foreign).html).words

    for sentence in (
        "Nobody is recorded on the land.",
        "No deer is recorded as taken.",
        "The managers entered no incident",
        "No work is on record.",
        "Nothing is entered for the weeks ahead.",
    ):
        assert sentence in words


def test_a_poor_month_speaks_in_the_singular(cast):
    words = Outline(pages_of(make_poor_month(cast)).html).words

    assert "1 person was on the land on 1 day, for 1 sit. 1 deer was taken." in words
    assert "Antlerless: 1 this month, 1 this season; no plan is entered." in words


def test_a_rich_month_fits_one_sheet_of_letter_and_of_a4(rendered):
    for units, width_px in (("us", 8.5 * 96), ("metric", 210 / 25.4 * 96)):
        figures = replace(rendered.figures, units=units)
        html = write_pages(figures, edition=1, changes=[]).print_html
        (sheet,) = HTML(string=html).render().pages
        assert sheet.width == pytest.approx(width_px, abs=0.01)


def test_paper_is_a_pdf_tagged_for_screen_readers_with_the_pictures_words(rendered):
    paper = to_pdf(rendered.pages.print_html)

    assert paper.missing_reason == ""
    assert paper.pdf.startswith(b"%PDF-")
    inside = _inflated(paper.pdf)
    assert inside.count(b"/Alt (") == 3
    assert b"/Alt (Calendar of sits. Oct 1: 2 evening" in inside
    assert b"/Lang (en-us)" in inside


def _inflated(pdf):
    """All streams of a PDF that hold deflated text, one after another."""
    parts = []
    for stream in re.findall(rb"stream\n(.*?)\nendstream", pdf, re.DOTALL):
        with contextlib.suppress(zlib.error):
            parts.append(zlib.decompress(stream))
    return b"".join(parts)


def test_the_number_of_queries_does_not_grow_with_sits_and_observations(rich):
    settings = settings_in_force(rich.land, now=AFTER)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            gather(land=rich.land, month=OCTOBER, now=AFTER, settings=settings)
        return len(captured)

    before = queries()
    for number, sit in enumerate(list(Sit.objects.select_related("stand", "person")[:10])):
        make_report(
            make_sit(sit.stand, sit.person, OCTOBER + timedelta(days=number), "morning"), deer=3
        )
    (deployment, *_others) = Deployment.objects.all()
    Observation.objects.bulk_create(
        Observation(
            deployment=deployment,
            batch=ObservationImport.objects.get(),
            source_key=f"more-{number}",
            observed_at=AFTER - timedelta(hours=number),
            kind="animal",
        )
        for number in range(200)
    )

    assert queries() == before <= 30


# What may be written on what: pairs whose contrast the test above holds to 4.5 or more.
_WRITTEN_IN = {palette.INK, palette.MUTED, palette.PAPER}


@pytest.mark.parametrize("which", ["html", "appendix_html"])
def test_every_word_in_a_picture_has_a_colour_whose_contrast_is_held(rendered, which):
    html = getattr(rendered.pages, which)
    inks = re.findall(r"<text[^>]*style=\"[^\"]*fill: ([^;\"]+)", html)

    assert len(inks) == len(re.findall("<text", html)) > 20
    assert set(inks) <= {f"var(--{colour.name})" for colour in _WRITTEN_IN}
