"""Addresses of the package ``front``."""

from django.urls import path, re_path

from fraginv.front.views import code, house, lists

app_name = "front"

urlpatterns = [
    path("", lists.today, name="today"),
    path("begin/<str:token>", house.begin, name="begin"),
    path("organisation", house.change, name="organisation"),
    path("frags", lists.frags, name="frags"),
    path("colonies", lists.colonies, name="colonies"),
    path("cuttings/<int:cutting_id>", lists.cutting, name="cutting"),
    path("find", lists.search, name="find"),
    re_path(r"^[Tt]/(?P<text>[^/]{1,60})/?$", code.code_page, name="code"),
]
