from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    name = "scheduling"
    label = "scheduling"
    verbose_name = "Sits, rotation, errands"

    def ready(self) -> None:
        from scheduling import registration

        registration.register()
