"""Addresses of the package ``front``."""

from django.urls import path, re_path

from fraginv.front.views import code, house, lists, load, scans

app_name = "front"

urlpatterns = [
    path("", lists.today, name="today"),
    path("begin/<str:token>", house.begin, name="begin"),
    path("organisation", house.change, name="organisation"),
    path("frags", lists.frags, name="frags"),
    path("colonies", lists.colonies, name="colonies"),
    path("cuttings/<int:cutting_id>", lists.cutting, name="cutting"),
    path("find", lists.search, name="find"),
    path("load", load.overview, name="load"),
    path("load/waiting/<int:upload_id>", load.waiting, name="load_waiting"),
    path("load/waiting/<int:upload_id>/away", load.throw, name="load_throw"),
    path("load/done/<int:load_id>", load.brought, name="load_done"),
    path("load/done/<int:load_id>/codes.csv", load.codes, name="load_codes"),
    path("load/<str:kind>", load.kind, name="load_kind"),
    re_path(r"^load/(?P<kind>\w+)/template\.(?P<ending>csv|xlsx)$", load.blank, name="load_blank"),
    path("scan", scans.scan, name="scan"),
    path("scan/look", scans.look, name="scan_look"),
    path("scan/frame", scans.frame, name="scan_frame"),
    path("scan/seen", scans.seen, name="scan_seen"),
    path("scan/move", scans.move, name="scan_move"),
    path("scan/ready", scans.ready, name="scan_ready"),
    path("scan/unready", scans.unready, name="scan_unready"),
    path("scan/lose", scans.lose, name="scan_lose"),
    path("scan/unlose", scans.unlose, name="scan_unlose"),
    path("scan/done", scans.done, name="scan_done"),
    path("find/answers", lists.answers, name="answers"),
    re_path(r"^[Tt]/(?P<text>[^/]{1,60})/?$", code.code_page, name="code"),
]
