from django.apps import AppConfig


class CoopConfig(AppConfig):
    name = "coop"
    label = "coop"
    verbose_name = "Accounts, audit, jobs and messages"

    def ready(self) -> None:
        from coop import checks  # noqa: F401
        from coop.jobs import forgetting as job_forgetting
        from coop.jobs import readings as job_readings
        from coop.outbox import forgetting as outbox_forgetting
        from coop.outbox import readings as outbox_readings

        job_readings.register()
        outbox_readings.register()
        job_forgetting.register()
        outbox_forgetting.register()
        from coop.outbox.webhooks import delivery

        delivery.register()
