"""Searching a property for places, over HTTP, as a job and by command."""

import re
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from coop.jobs import services as jobs
from coop.jobs.models import JobRun, JobState
from properties.land.geodesy import distance_m
from scrapes.siting.queries import judge_place
from scrapes.siting.search import lay_search, run_search
from tests.cast import NOW
from tests.scrapes.siting.scene import (
    autumn,
    camera_at,
    corridor,
    make_feature,
    off,
    record_every_hour,
    stand_at,
)

SEARCH = "/api/v1/siting/search/"


@pytest.fixture
def land(cast):
    """A trail, two stands south of it and one far off, bedding 250 m east, wind from the north."""
    corridor(cast.north)
    stand_at(cast.north, "Oak ladder", 180, 12)
    stand_at(cast.north, "West ladder", 263, 80)
    stand_at(cast.north, "Far tower", 180, 300)
    camera_at(cast.north, 0, 4)
    around = [list(off(cast.north, bearing, 60)) for bearing in (0, 270, 180, 90, 0)]
    shift = off(cast.north, 90, 250)[0] - cast.north.longitude
    bed = [[longitude + shift, latitude] for longitude, latitude in around]
    make_feature(cast.north, "bedding", "East bed", {"type": "Polygon", "coordinates": [bed]})
    autumn(cast.north)
    record_every_hour(cast.north, 360.0, days=8)
    return cast.north


def searched(land, *, most=10, **changes):
    return run_search(lay_search(land, now=NOW, **changes), most=most)


def test_the_counts_add_up_to_every_place_laid(land):
    make_feature(
        land,
        "sanctuary",
        "No entry",
        {
            "type": "Polygon",
            "coordinates": [[list(off(land, bearing, 40)) for bearing in (0, 270, 180, 90, 0)]],
        },
    )
    found = searched(land)
    assert found.laid == sum(found.excluded.values()) + found.judged
    assert found.judged == found.fitting + found.falling_short
    assert found.excluded["in_sanctuary"] > 0
    numbers = [
        int(number) for number in re.findall(r"\d+(?= places laid| judged)", found.reconciliation)
    ]
    assert numbers == [found.laid, found.judged]


def test_a_place_found_is_judged_as_it_is_alone(land):
    found = searched(land)
    assert found.places
    for told in found.places:
        alone = judge_place(
            land,
            longitude=told.longitude,
            latitude=told.latitude,
            branch_azimuth_deg=None,
            now=NOW,
        )
        assert [(one.code, one.subject, one.holds) for one in told.reasons] == [
            (one.code, one.subject, one.holds) for one in alone.reasons
        ]
        assert told.objections == alone.objections
        assert told.mark == pytest.approx(alone.mark, abs=1e-3)
        assert told.branch_azimuth_deg == pytest.approx(alone.branch_azimuth_deg, abs=0.01)


def test_the_best_place_lies_by_the_trail_before_a_stand_upwind_of_which_no_bed_lies(land):
    best = searched(land).places[0]
    assert best.fits_settings, best.objections
    assert best.best_stand in ("Oak ladder", "West ladder")
    assert best.parts["sessions"] > 0.5


def test_places_told_lie_apart(land):
    found = searched(land, most=6)
    lons, lats = (
        [getattr(one, name) for one in found.places] for name in ("longitude", "latitude")
    )
    for number in range(len(lons)):
        away = distance_m(lons[number], lats[number], lons[:number], lats[:number])
        assert (away >= found.apart_m - 0.01).all()


def test_many_places_before_one_stand_are_a_long_search_as_well(land):
    land.settings = {"siting": {"search_at_once": 60}}
    land.save()
    coarse, fine = (lay_search(land, now=NOW, spacing_m=spacing) for spacing in (20, 4))
    assert coarse.stand_sessions == fine.stand_sessions <= 60
    assert (coarse.is_long, fine.is_long) == (False, True)


def test_queries_do_not_grow_with_the_candidates(land, django_assert_num_queries):
    with django_assert_num_queries(9) as few:
        coarse = searched(land, spacing_m=20)
    stand_at(land, "Third ladder", 90, 60)
    with django_assert_num_queries(len(few)):
        fine = searched(land, spacing_m=7)
    assert fine.judged > 4 * coarse.judged


class TestOverHTTP:
    def test_a_manager_is_answered_with_ranked_places_and_cautions(self, cast, land):
        answer = cast.client(cast.manager).post(
            SEARCH, {"property": land.id, "spacing_m": 15, "most": 3}
        )
        assert answer.status_code == 200, answer.data
        assert len(answer.data["places"]) == 3
        assert answer.data["spacing_m"] == 15
        assert answer.data["laid"] == sum(answer.data["excluded"].values()) + answer.data["judged"]
        first = answer.data["places"][0]
        assert first["fits_settings"]
        assert first["objections"] == []
        assert "local law" in answer.data["cautions"][0]
        assert b"NaN" not in answer.content

    def test_a_large_search_is_a_job_with_the_same_answer(self, cast, land):
        client, asked = cast.client(cast.manager), {"property": land.id, "spacing_m": 20}
        now = client.post(SEARCH, asked).data
        land.settings = {"siting": {"search_at_once": 0}}
        land.save()

        started = client.post(SEARCH, asked)
        again = client.post(SEARCH, asked)
        run = jobs.run_job(run_id=started.data["job"], now=timezone.now())

        assert started.status_code == 202
        assert run.state == JobState.DONE, run.error
        assert again.data == started.data
        for name in ("laid", "excluded", "judged", "fitting", "reconciliation"):
            assert run.result[name] == now[name]
        assert [one["mark"] for one in run.result["places"]] == pytest.approx(
            [one["mark"] for one in now["places"]]
        )
        assert client.get(started["Location"]).data["result"]["laid"] == now["laid"]

    def test_who_may_not_build_scrapes_is_refused(self, cast, land):
        for person in (cast.member, cast.landowner):
            assert cast.client(person).post(SEARCH, {"property": land.id}).status_code == 403
        assert cast.client(cast.stranger).post(SEARCH, {"property": land.id}).status_code == 400
        assert not JobRun.objects.filter(name="siting.search").exists()

    @pytest.mark.parametrize(
        ("fields", "pointer"),
        [
            ({"spacing_m": 1}, "#/spacing_m"),
            ({"spacing_m": 2, "reach_m": 300}, "#/spacing_m"),
            ({"reach_m": "NaN"}, "#/reach_m"),
            ({"most": 0}, "#/most"),
        ],
    )
    def test_a_search_that_cannot_be_is_named(self, cast, land, fields, pointer):
        land.settings = {"siting": {"search_most_places": 1000}}
        land.save()
        answer = cast.client(cast.manager).post(SEARCH, {"property": land.id, **fields})
        assert answer.status_code == 400
        assert answer.data["errors"][0]["pointer"] == pointer

    def test_where_no_route_is_mapped_it_says_so(self, cast):
        answer = cast.client(cast.manager).post(SEARCH, {"property": cast.north.id})
        assert answer.status_code == 400
        assert "No corridor and no food plot" in answer.data["detail"]


class TestByCommand:
    def run(self, *arguments):
        out = StringIO()
        call_command("judgescrapesite", *arguments, "--at", NOW.isoformat(), stdout=out)
        return out.getvalue()

    def test_it_prints_a_ranked_table_its_reasons_and_a_reconciliation(self, land):
        told = self.run("--property", str(land.id), "--spacing", "20", "--most", "2")
        found = searched(land, spacing_m=20, most=2)
        rows = [line for line in told.splitlines() if re.match(r"\s*\d\. {2}", line)]
        assert [float(row.split()[1]) for row in rows] == pytest.approx(
            [one.latitude for one in found.places], abs=1e-6
        )
        for one in found.places:
            assert all(reason.sentence in told for reason in one.reasons)
        assert told.rstrip().endswith(found.reconciliation)
        assert "local law" in told

    def test_it_judges_one_place(self, land):
        longitude, latitude = off(land, 0, 5)
        told = self.run(
            "--property", str(land.id), f"--place={longitude},{latitude}", "--azimuth", "200"
        )
        assert "branch to 200° true" in told
        total, *parts = (int(number) for number in re.findall(r"\d+", told.splitlines()[-1]))
        assert total == sum(parts)

    @pytest.mark.parametrize(
        ("arguments", "complaint"),
        [
            (["--azimuth", "20"], "belongs to --place"),
            (["--spacing", "1"], "at least 2"),
            (["--place=200,10"], "invalid place"),
        ],
    )
    def test_it_says_what_is_wrong(self, land, arguments, complaint):
        with pytest.raises(CommandError, match=complaint):
            self.run("--property", str(land.id), *arguments)

    def test_a_property_without_routes_is_told(self, cast):
        with pytest.raises(CommandError, match="No corridor"):
            self.run("--property", str(cast.north.id))
