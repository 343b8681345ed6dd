"""Addresses of the package ``growth``."""

from django.urls import URLPattern, path

from fraginv.growth.views import photos as views

app_name = "growth"

urlpatterns: list[URLPattern] = [
    path("of/<str:code>/add", views.add_photo, name="add_photo"),
    path("<int:photo_id>-<str:mark>/<int:size>.jpg", views.photo, name="photo"),
]
