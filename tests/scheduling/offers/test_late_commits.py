"""What is committed late ends an answer that was judged before it, though it was written first.

Two transactions at once are needed, which SQLite does not have: there the writers queue.
"""

from concurrent.futures import ThreadPoolExecutor
from threading import Event

import pytest
from django.db import connection, connections, transaction

from scheduling.offers import answers
from scheduling.offers.kept import as_of
from scheduling.sits.life_services import cancel_sit
from tests.cast import NOW, make_cast
from tests.scheduling.offers.asking import anew, ask, is_judged
from tests.scheduling.sits.stage import booked, make_stage

WAIT_S = 20
pytestmark = pytest.mark.usefixtures("at_now")


@pytest.fixture
def stage(transactional_db):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has one writer at a time")
    return make_stage(make_cast())


class Late:
    """Cancels a sit in a transaction of its own, which is written and not yet committed."""

    def __init__(self, stage, sit):
        self._stage, self._sit = stage, sit
        self._written, self._may_commit = Event(), Event()
        self._pool = ThreadPoolExecutor(max_workers=1)

    def __enter__(self):
        self._running = self._pool.submit(self._work)
        assert self._written.wait(WAIT_S)
        return self

    def commit(self):
        self._may_commit.set()
        self._running.result(WAIT_S)

    def __exit__(self, *_about):
        self._may_commit.set()
        self._pool.shutdown()

    def _work(self):
        try:
            with transaction.atomic():
                manager = self._stage.cast.actor(self._stage.cast.manager)
                cancel_sit(actor=manager, sit=self._sit, reason="", now=NOW)
                self._written.set()
                assert self._may_commit.wait(WAIT_S)
        finally:
            connections["default"].close()


def test_an_answer_judged_before_a_late_commit_is_not_given_after_it(stage):
    ben = stage.cast.client(stage.ben)
    late_sit = booked(stage)
    with Late(stage, late_sit) as late:
        # Another write is committed meanwhile, and is numbered; the late one was written first.
        booked(stage, stage.ben, stage.creek)
        meanwhile = ask(ben, stage).content
        assert not is_judged(ben, stage)
        late.commit()

    afterwards = ask(ben, stage).content

    assert afterwards != meanwhile
    assert afterwards == anew(ben, stage)


def test_what_is_committed_while_an_answer_is_judged_is_no_part_of_what_it_is_kept_under(
    stage, monkeypatch
):
    """The number is taken first, so the answer of before the commit is kept under that of then."""
    ben = stage.cast.client(stage.ben)
    late_sit = booked(stage)
    judged = answers.offers
    with Late(stage, late_sit) as late:

        def judged_and_then_overtaken(**question):
            found = judged(**question)
            late.commit()
            monkeypatch.setattr(answers, "offers", judged)
            return found

        monkeypatch.setattr(answers, "offers", judged_and_then_overtaken)
        before = ask(ben, stage).content

    assert ask(ben, stage).content == anew(ben, stage) != before


def test_the_test_can_fail_where_the_number_is_taken_after_the_facts(stage, monkeypatch):
    """A server that asked for the number last would give the answer of before the commit."""
    ben = stage.cast.client(stage.ben)
    late_sit = booked(stage)
    judged, keep = answers.offers, answers.keep
    cooperative_id = stage.cast.cooperative.id

    def kept_under_what_is_there_now(key, answer, *, under, **more):
        keep(key, answer, under=as_of(cooperative_id=cooperative_id), **more)

    with Late(stage, late_sit) as late:

        def judged_and_then_overtaken(**question):
            found = judged(**question)
            late.commit()
            monkeypatch.setattr(answers, "offers", judged)
            return found

        monkeypatch.setattr(answers, "offers", judged_and_then_overtaken)
        monkeypatch.setattr(answers, "keep", kept_under_what_is_there_now)
        before = ask(ben, stage).content

    assert ask(ben, stage).content == before != anew(ben, stage)
