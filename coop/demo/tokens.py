"""A token for each role, and one line to try with it. Tokens are told once and never stored."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.utils import timezone
from oauth2_provider.generators import generate_client_secret
from oauth2_provider.models import get_access_token_model

from coop.access.models import PersonalToken
from coop.access.services import issue_token
from coop.demo import people
from coop.demo.build import Built, builder
from coop.demo.next_offer import next_offer
from coop.demo.scenario import Calendar
from properties.people.outfitter_services import Credential, renew_secret
from properties.sessions.kinds import SessionKey, SessionKind

TOKEN_NAME = "demo"  # noqa: S105 - a name, no token
_DAYS = 7
HOST = "http://localhost:8000"
SCOPES = "offers sits webhooks"


@dataclass(frozen=True, kw_only=True)
class RoleToken:
    """Who holds it, what it is sent as, and what to ask with it."""

    role: str
    holder: str
    token: str
    path: str
    asks: str
    scheme: str = "Token"

    @property
    def curl(self) -> str:
        return f"curl -s -H 'Authorization: {self.scheme} {self.token}' '{HOST}{self.path}'"


@transaction.atomic
def renew_tokens(
    built: Built, calendar: Calendar, *, clients_day: date | None = None
) -> list[RoleToken]:
    """New tokens in place of those an earlier run told; clients sit on ``clients_day``."""
    tomorrow = calendar.day(1)
    ridge = built.lands[people.RIDGE]
    member = built.persons["Bram Fenwick"]
    seat = next_offer(ridge, member, calendar) or SessionKey(tomorrow, SessionKind.EVENING)
    day = seat.local_date
    session = f"property={ridge.id}&first_on={day}&last_on={day}&kind={seat.kind.value}"
    asked = (
        ("coordinator", "Marta Oakes", "/api/v1/rotation-plans/", "the plan and what bounds it"),
        ("manager", "Silas Brandt", "/api/v1/errands/?state=open", "what is to be done, and why"),
        (
            "member",
            member.name,
            f"/api/v1/offers/?{session}",
            f"what to sit on the {seat.kind.value} of {day:%A %d %B}",
        ),
        ("landowner", "Edith Farrow", "/api/v1/reports/", "the month on her two properties"),
    )
    return [
        *(
            RoleToken(
                role=role, holder=name, token=_personal(built, name, calendar), path=path, asks=asks
            )
            for role, name, path, asks in asked
        ),
        RoleToken(
            role="outfitter's application",
            holder=built.outfitter.name,
            token=_of_application(built),
            path=f"/api/v1/offers/?property={ridge.id}&date={clients_day or tomorrow}",
            asks=f"seats open to its clients on {clients_day or tomorrow:%A %d %B}",
            scheme="Bearer",
        ),
    ]


def renew_credential(built: Built, calendar: Calendar) -> Credential:
    """The application's id and a new secret, which ends the former one and its tokens.

    Told once and stored as a hash, as in earnest; so this comes before :func:`renew_tokens`.
    """
    _outfitter, credential = renew_secret(
        actor=builder(), outfitter=built.outfitter, now=calendar.now
    )
    return credential


def _personal(built: Built, name: str, calendar: Calendar) -> str:
    user = built.persons[name].user
    assert user is not None
    PersonalToken.objects.filter(user=user, name=TOKEN_NAME).delete()
    _row, text = issue_token(user=user, name=TOKEN_NAME, days=_DAYS, now=calendar.now)
    return text


def _of_application(built: Built) -> str:
    """An access token as the token endpoint would give for the application's credential."""
    tokens = get_access_token_model().objects
    tokens.filter(application=built.outfitter.application).delete()
    row = tokens.create(
        application=built.outfitter.application,
        token=generate_client_secret()[:64],
        expires=timezone.now() + timedelta(days=1),
        scope=SCOPES,
    )
    return str(row.token)
