from django.apps import AppConfig


class CoopConfig(AppConfig):
    name = "coop"
    label = "coop"
    verbose_name = "Accounts, audit, jobs and messages"

    def ready(self) -> None:
        from coop import checks  # noqa: F401
