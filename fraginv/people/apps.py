from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in


class PeopleConfig(AppConfig):
    name = "fraginv.people"

    def ready(self) -> None:
        """Let every signing in begin a visit."""
        from fraginv.people.middleware import begin_visit

        user_logged_in.connect(begin_visit, dispatch_uid="fraginv.people.visit")
