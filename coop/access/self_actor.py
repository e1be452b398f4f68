"""A user who acts on their own account, before any role is asked."""

from coop.access.models import User


class SelfActor:
    kind = "person"

    def __init__(self, user: User) -> None:
        self.id = str(user.id)
        self.name = user.name or user.email
