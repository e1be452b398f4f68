"""Every route of the API has its row in the permission table, or says why it needs none."""

from django.urls import get_resolver

from coop.access.roles import Action
from coop.api.views import ActorViewSet

PLUMBING = {"schema"}


def api_views():
    """(path, view class, view actions) of everything under /api/v1/."""

    def walk(patterns, prefix):
        for pattern in patterns:
            path = prefix + str(pattern.pattern)
            if hasattr(pattern, "url_patterns"):
                yield from walk(pattern.url_patterns, path)
            elif path.startswith("api/v1/") and pattern.name not in PLUMBING:
                view = pattern.callback
                yield path, getattr(view, "cls", None), getattr(view, "actions", {})

    return list(walk(get_resolver().url_patterns, ""))


def test_every_view_of_the_api_asks_the_one_table():
    views = api_views()

    assert len(views) > 10
    for path, view_class, _actions in views:
        assert view_class is not None, path
        assert issubclass(view_class, ActorViewSet), path


def test_every_view_action_names_its_row_or_is_open_or_ones_own():
    for path, view_class, actions in api_views():
        for method, name in (actions or {}).items():
            named = name in view_class.needs
            exempt = name in view_class.open_to_all + view_class.own_only
            assert named != exempt, f"{method.upper()} {path}: {name}"
            assert exempt or view_class.needs[name] in Action


def test_only_signing_in_is_open_to_all():
    open_views = {view.__name__ for _path, view, _actions in api_views() if view.open_to_all}

    assert open_views == {"SignInViewSet"}
