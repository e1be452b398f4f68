"""Take a lost second factor off an account."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from coop.access.models import User
from coop.access.second_factor import remove_for


class Command(BaseCommand):
    help = (
        "Take the second factor off somebody's account when both their device and their recovery "
        "codes are lost. Make sure first that it is they who ask. The record keeps the reason."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email", help="the account's e-mail address")
        parser.add_argument("--reason", required=True, help="how you made sure that it is they")

    def handle(self, *_args: Any, email: str, reason: str, **_options: Any) -> None:
        user = User.objects.filter(email__iexact=email).first()
        if user is None:
            raise CommandError("There is no account with this address.")
        removed = remove_for(
            user=user,
            actor=system_actor("removesecondfactor"),
            reason=reason,
            now=timezone.now(),
        )
        if not removed:
            raise CommandError("This account has no second factor.")
        self.stdout.write(f"{user.email}: no second factor any more")
