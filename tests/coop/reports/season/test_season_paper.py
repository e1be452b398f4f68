"""The season on paper is one page for a cooperative of a few properties."""

from datetime import date

from weasyprint import HTML

from coop.reports.season.pages import write_season_pages
from tests.coop.reports.season.test_season_figures import figures_of, land, sat

CLASSES = ("antlered", "antlerless")


def paper_of(*names):
    lands = [
        land(
            name,
            sits=tuple(sat(on=date(2025, month, 3)) for month in (10, 11, 12)),
            taken=tuple((kind, date(2025, 11, 3)) for kind in CLASSES),
            plan=dict.fromkeys(CLASSES, 4),
        )
        for name in names
    ]
    pages = write_season_pages(figures_of(*lands), edition=1, changes=[])
    return HTML(string=pages.print_html).render().pages


def test_four_properties_with_their_footnote_stand_on_one_page():
    assert len(paper_of("Ridge", "Bottom", "Draws", "Hollow")) == 1


def test_what_does_not_fit_goes_on_to_another_page():
    assert len(paper_of(*(f"Land {number}" for number in range(12)))) > 1
