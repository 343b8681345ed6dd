from django.apps import AppConfig


class LabelsConfig(AppConfig):
    name = "fraginv.labels"
    default_auto_field = "django.db.models.BigAutoField"
