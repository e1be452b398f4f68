"""The ground floor in the admin: accounts may be edited, the record of work only read."""

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone

from coop.access.models import Application, PersonalToken, User
from coop.access.sign_in_form import SecondFactorForm
from coop.audit.models import AuditEvent
from coop.jobs.models import JobLogLine, JobRun
from coop.outbox import services as outbox
from coop.outbox.models import Fact, Message, NoticePreference
from coop.outbox.webhooks.models import DeliveryAttempt, WebhookDelivery, WebhookEndpoint
from coop.read_only_admin import ReadOnlyAdmin, ReadOnlyInline

admin.site.login_form = SecondFactorForm


@admin.register(User)
class AccountAdmin(UserAdmin):
    ordering = ["email"]
    list_display = ["email", "name", "is_active", "is_staff"]
    search_fields = ["email", "name"]
    fieldsets = [
        (None, {"fields": ["email", "password", "name"]}),
        ("Standing", {"fields": ["is_active", "is_staff", "is_superuser"]}),
    ]
    add_fieldsets = [(None, {"fields": ["email", "name", "password1", "password2"]})]


# The library's own page shows the hash of the secret, in a field to be edited.
admin.site.unregister(Application)


@admin.register(Application)
class ApplicationAdmin(ReadOnlyAdmin):
    list_display = ["name", "client_id", "created", "updated"]
    search_fields = ["name", "client_id"]
    exclude = ["client_secret"]


@admin.register(AuditEvent)
class AuditEventAdmin(ReadOnlyAdmin):
    list_display = ["recorded_at", "actor_name", "action", "object_kind", "object_id", "reason"]
    list_filter = ["action", "actor_kind"]
    search_fields = ["object_id", "actor_name"]


class JobLogLineInline(ReadOnlyInline):
    model = JobLogLine
    ordering = ["id"]


@admin.register(JobRun)
class JobRunAdmin(ReadOnlyAdmin):
    list_display = [
        *("created_at", "name", "scope", "asked_for_by", "state", "stuck", "progress_pct"),
        *("attempts", "took_s", "error"),
    ]
    list_filter = ["state", "name"]
    list_select_related = ["requested_by"]
    inlines = [JobLogLineInline]

    @admin.display(boolean=True, description="stuck")
    def stuck(self, run: JobRun) -> bool:
        return run.is_stuck(timezone.now())


@admin.register(Fact)
class FactAdmin(ReadOnlyAdmin):
    list_display = ["occurred_at", "topic", "attempts", "handled_at", "failed_at", "error"]
    list_filter = ["topic", ("failed_at", admin.EmptyFieldListFilter)]
    actions = ["handle_again"]

    def has_handle_again_permission(self, request: HttpRequest) -> bool:
        return bool(request.user.is_superuser)

    @admin.action(description="Handle again what was given up", permissions=["handle_again"])
    def handle_again(self, request: HttpRequest, queryset: QuerySet[Fact]) -> None:
        revived = outbox.handle_again(facts=queryset, now=timezone.now())
        self.message_user(request, f"{revived} facts will be handled again.")


@admin.register(Message)
class MessageAdmin(ReadOnlyAdmin):
    list_display = ["created_at", "recipient", "subject", "state", "attempts"]
    list_filter = ["state"]


@admin.register(NoticePreference)
class NoticePreferenceAdmin(admin.ModelAdmin):
    list_display = ["email", "channel", "time_zone", "quiet_from", "quiet_until", "ended"]
    search_fields = ["email"]


@admin.register(WebhookEndpoint)
class WebhookEndpointAdmin(ReadOnlyAdmin):
    list_display = ["url", "registered_by", "failing_since", "disabled_at", "retired_at"]


class DeliveryAttemptInline(ReadOnlyInline):
    model = DeliveryAttempt
    ordering = ["number"]


@admin.register(WebhookDelivery)
class WebhookDeliveryAdmin(ReadOnlyAdmin):
    list_display = ["created_at", "type", "endpoint_id", "state", "attempts", "due_at"]
    list_filter = ["state", "type"]
    inlines = [DeliveryAttemptInline]


@admin.register(PersonalToken)
class PersonalTokenAdmin(ReadOnlyAdmin):
    list_display = ["user", "name", "created", "expiry", "last_used_at"]
    exclude = ["digest"]
