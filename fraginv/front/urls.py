"""Addresses of the package ``front``."""

from django.urls import path, re_path

from fraginv.front.views import bench, code, house, lists, load, narrowed, scans, stops

app_name = "front"

urlpatterns = [
    path("", lists.today, name="today"),
    path("begin/<str:token>", house.begin, name="begin"),
    path("organisation", house.change, name="organisation"),
    path("frags", lists.frags, name="frags"),
    path("frags/narrow", narrowed.frags, name="frags_narrow"),
    path("frags.csv", narrowed.frags_csv, name="frags_csv"),
    path("frags.xlsx", narrowed.frags_xlsx, name="frags_xlsx"),
    path("colonies", lists.colonies, name="colonies"),
    path("cuttings/<int:cutting_id>", lists.cutting, name="cutting"),
    path("bench", bench.bench, name="bench"),
    path("find", lists.search, name="find"),
    path("load", load.overview, name="load"),
    path("load/waiting/<int:upload_id>", load.waiting, name="load_waiting"),
    path("load/waiting/<int:upload_id>/away", load.throw, name="load_throw"),
    path("load/done/<int:load_id>", load.brought, name="load_done"),
    path("load/done/<int:load_id>/codes.csv", load.codes, name="load_codes"),
    path("load/<str:kind>", load.kind, name="load_kind"),
    re_path(r"^load/(?P<kind>\w+)/template\.(?P<ending>csv|xlsx)$", load.blank, name="load_blank"),
    path("stops", stops.stop_list, name="stops"),
    path("stops/start", stops.stop_start, name="stop_start"),
    path("stops/<int:stop_id>", stops.stop, name="stop"),
    path("stops/<int:stop_id>/bought", stops.stop_buyers, name="stop_buyers"),
    path("stops/<int:stop_id>/bought.csv", stops.stop_buyers_csv, name="stop_buyers_csv"),
    path("stops/<int:stop_id>/end", stops.stop_end, name="stop_end"),
    path("scan", scans.scan, name="scan"),
    path("scan/look", scans.look, name="scan_look"),
    path("scan/frame", scans.frame, name="scan_frame"),
    path("scan/seen", scans.seen, name="scan_seen"),
    path("scan/move", scans.move, name="scan_move"),
    path("scan/ready", scans.ready, name="scan_ready"),
    path("scan/unready", scans.unready, name="scan_unready"),
    path("scan/lose", scans.lose, name="scan_lose"),
    path("scan/unlose", scans.unlose, name="scan_unlose"),
    path("scan/label", scans.label, name="scan_label"),
    path("scan/unlabel", scans.unlabel, name="scan_unlabel"),
    path("scan/done", scans.done, name="scan_done"),
    path("find/answers", lists.answers, name="answers"),
    re_path(r"^[Tt]/(?P<text>[^/]{1,60})/?$", code.code_page, name="code"),
]
