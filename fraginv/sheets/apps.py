from django.apps import AppConfig


class SheetsConfig(AppConfig):
    name = "fraginv.sheets"
    default_auto_field = "django.db.models.BigAutoField"
