from django.apps import AppConfig


class UpkeepConfig(AppConfig):
    name = "fraginv.upkeep"
