from django.apps import AppConfig


class TaxaConfig(AppConfig):
    name = "fraginv.taxa"
    default_auto_field = "django.db.models.BigAutoField"
