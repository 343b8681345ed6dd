"""Addresses of the package ``growth``."""

from django.urls import URLPattern, path

from fraginv.growth.views import growth, measuring, refiling, shown, taking_out, widths
from fraginv.growth.views import photos as views

app_name = "growth"

urlpatterns: list[URLPattern] = [
    path("of/<str:code>/add", views.add_photo, name="add_photo"),
    path("of/<str:code>/photos", shown.photos, name="photos"),
    path("of/<str:code>/growth", growth.growth, name="growth"),
    path("above/<int:outline_id>/<int:side_mm>.jpg", growth.from_above, name="from_above"),
    path("came/<int:incoming_id>-<str:seal>/<int:size>.jpg", views.incoming, name="incoming"),
    path("<int:photo_id>-<str:mark>/<int:size>.jpg", views.photo, name="photo"),
    path("<int:photo_id>-<str:mark>/measure", measuring.measure, name="measure"),
    path("<int:photo_id>-<str:mark>/suggest", measuring.suggest, name="suggest"),
    path("<int:photo_id>-<str:mark>/again", measuring.redo, name="measure_again"),
    path("<int:photo_id>-<str:mark>/width", widths.width, name="measure_width"),
    path(
        "<int:photo_id>-<str:mark>/<int:left>-<int:top>-<int:width>-<int:height>.jpg",
        measuring.part,
        name="part",
    ),
    path("<int:photo_id>-<str:mark>/out", taking_out.out, name="take_out"),
    path("<int:photo_id>-<str:mark>/reads/<str:code>", refiling.reads, name="reads"),
    path("measured/<int:measurement_id>", measuring.measured, name="measured"),
]
