from django.apps import AppConfig


class TradeConfig(AppConfig):
    name = "fraginv.trade"
    default_auto_field = "django.db.models.BigAutoField"
