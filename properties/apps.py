from django.apps import AppConfig


class PropertiesConfig(AppConfig):
    name = "properties"
    label = "properties"
    verbose_name = "Land, people, stands, wind"

    def ready(self) -> None:
        from coop.access.actors import ActorKind, register_grants_lookup
        from properties import registration
        from properties.people.queries import grants_of_application, grants_of_user

        register_grants_lookup(ActorKind.PERSON, grants_of_user)
        register_grants_lookup(ActorKind.APPLICATION, grants_of_application)
        registration.register()
