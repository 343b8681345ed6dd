from django.apps import AppConfig


class BaseConfig(AppConfig):
    name = "fraginv.base"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the system checks."""
        import fraginv.base.checks  # noqa: F401 registers them
