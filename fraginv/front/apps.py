from django.apps import AppConfig


class FrontConfig(AppConfig):
    name = "fraginv.front"
    default_auto_field = "django.db.models.BigAutoField"
