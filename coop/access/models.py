"""Accounts, personal tokens, and outfitters' applications."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.db.models.functions import Lower
from knox.models import AbstractAuthToken
from oauth2_provider.models import AbstractApplication

from coop.records import Record, new_id


class UserManager(BaseUserManager["User"]):
    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "User":
        user = self.model(email=self.normalize_email(email), **fields)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def create_superuser(self, email: str, password: str | None = None, **fields: Any) -> "User":
        return self.create_user(email, password, is_staff=True, is_superuser=True, **fields)


class User(AbstractBaseUser, PermissionsMixin, Record):
    """An account that signs in with an e-mail address. Who the person is lives in ``people``."""

    email = models.EmailField(unique=True)
    name = models.CharField(max_length=200, blank=True)
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField(default=False)

    objects: ClassVar[UserManager] = UserManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS = []

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("email"), name="user_email_unique_without_case"),
        ]


class PersonalToken(AbstractAuthToken):
    """A person's API token: stored as a digest, named, expiring, revocable."""

    name = models.CharField(max_length=100, default="token")
    last_used_at = models.DateTimeField(null=True, blank=True)


class SecondFactor(Record):
    """What an account asks for beside its password: a code that changes with time (RFC 6238).

    It counts once it is confirmed. ``secret`` is sealed; of recovery codes only digests are kept.
    ``last_step`` is the last step of time whose code was taken, so that no code opens twice.
    """

    user = models.OneToOneField(User, on_delete=models.CASCADE, related_name="second_factor")
    secret = models.BinaryField(editable=False)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    last_step = models.BigIntegerField(default=0)
    recovery_digests = models.JSONField(default=list, editable=False)
    failures = models.PositiveIntegerField(default=0)
    last_failed_at = models.DateTimeField(null=True, blank=True)


class Application(AbstractApplication):
    """An outfitter's own app. Which properties are shared with it lives in ``people``."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
