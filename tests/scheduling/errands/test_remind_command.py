"""The command accounts for every open errand."""

import re
from io import StringIO

from django.core.management import call_command

from coop.access.actors import system_actor
from scheduling.errands.models import ErrandKind
from scheduling.errands.opening_services import open_errand
from tests.cast import NOW, make_stand


def test_the_command_ends_with_what_came_of_each_open_errand(cast):
    for name in ("Oak", "Creek"):
        open_errand(
            actor=system_actor("test"),
            kind=ErrandKind.TRIM,
            thing=make_stand(cast.north, name),
            reason="A limb hangs low.",
            now=NOW,
        )
    out = StringIO()

    call_command("remindoferrands", stdout=out)

    numbers = [int(number) for number in re.findall(r"\d+", out.getvalue())]
    assert numbers == [2, 2, 0, 0]
