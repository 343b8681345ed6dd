from django.apps import AppConfig


class StockConfig(AppConfig):
    name = "fraginv.stock"
    default_auto_field = "django.db.models.BigAutoField"
