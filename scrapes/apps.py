from django.apps import AppConfig


class ScrapesConfig(AppConfig):
    name = "scrapes"
    label = "scrapes"
    verbose_name = "Scrapes, cameras, visits, care"

    def ready(self) -> None:
        from scrapes import registration

        registration.register()
