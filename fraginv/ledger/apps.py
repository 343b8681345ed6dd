from django.apps import AppConfig


class LedgerConfig(AppConfig):
    name = "fraginv.ledger"
    default_auto_field = "django.db.models.BigAutoField"
