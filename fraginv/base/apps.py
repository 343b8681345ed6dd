import gc

from django.apps import AppConfig

# Pages and papers make many objects that live together and go together. Python looks for
# rings among them after each 700, which takes a sixth of a paper's time and frees nothing.
LOOK_AFTER = 10_000


class BaseConfig(AppConfig):
    name = "fraginv.base"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the system checks, and look for what is no longer used less often."""
        gc.set_threshold(LOOK_AFTER, *gc.get_threshold()[1:])
        import fraginv.base.checks  # noqa: F401 registers them
