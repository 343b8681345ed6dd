from django.apps import AppConfig


class GrowthConfig(AppConfig):
    name = "fraginv.growth"
    default_auto_field = "django.db.models.BigAutoField"
