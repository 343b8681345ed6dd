from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "fraginv.reports"
    default_auto_field = "django.db.models.BigAutoField"
