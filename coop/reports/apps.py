from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "coop.reports"
    label = "reports"
    verbose_name = "Monthly reports"

    def ready(self) -> None:
        from coop.reports import registration

        registration.register()
