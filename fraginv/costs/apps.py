from django.apps import AppConfig


class CostsConfig(AppConfig):
    name = "fraginv.costs"
    default_auto_field = "django.db.models.BigAutoField"
