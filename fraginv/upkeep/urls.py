"""Addresses of the package ``upkeep``."""

from django.urls import path

from fraginv.upkeep.views import house

app_name = "upkeep"

urlpatterns = [
    path("upkeep/", house.house, name="house"),
    path("upkeep/back-up", house.back_up, name="back_up"),
    path("upkeep/tasks", house.tasks, name="tasks"),
    path("upkeep/tasks/<uuid:task_id>/again", house.task_again, name="task_again"),
    path("upkeep/tasks/<uuid:task_id>/away", house.task_put_away, name="task_put_away"),
    path("healthz", house.health, name="health"),
]
