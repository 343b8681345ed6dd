"""Addresses of the package ``stock``."""

from django.urls import path

from fraginv.stock.views import catalogue, changes, cutting, losses, many, places, racks

app_name = "stock"

urlpatterns = [
    path("colonies/add", catalogue.colony_add, name="colony_add"),
    path("colonies/<str:code>/cut", cutting.cut, name="cut"),
    path("varieties/add", catalogue.variety_add, name="variety_add"),
    path("frags/grade", many.grade, name="grade"),
    path("frags/healed", many.healed, name="healed"),
    path("frags/not-ready", many.not_ready, name="not_ready"),
    path("frags/place", many.place, name="place"),
    path("frags/lose", losses.lose_many, name="lose_many"),
    path("losses", losses.losses, name="losses"),
    path("losses/undo", losses.undo, name="undo_losses"),
    path("frags/<str:code>/lose", losses.lose, name="lose"),
    path("frags/<str:code>/set-apart", changes.set_aside, name="set_apart"),
    path("frags/<str:code>/quarantine", changes.quarantine, name="quarantine"),
    path("frags/<str:code>/release", changes.release, name="release"),
    path("frags/<str:code>/keep-back", changes.keep, name="keep_back"),
    path("places", places.place_list, name="places"),
    path("places/systems/add", places.system_add, name="system_add"),
    path("places/systems/<int:system_id>/add", places.trough_add, name="trough_add"),
    path("places/troughs/<int:trough_id>/add", places.rack_add, name="rack_add"),
    path("places/systems/<int:system_id>/change", racks.system_change, name="system_change"),
    path("places/systems/<int:system_id>/withdraw", racks.system_withdraw, name="system_withdraw"),
    path("places/troughs/<int:trough_id>/change", racks.trough_change, name="trough_change"),
    path("places/troughs/<int:trough_id>/withdraw", racks.trough_withdraw, name="trough_withdraw"),
    path("places/racks/<str:rack_code>/change", racks.rack_change, name="rack_change"),
    path("places/racks/<str:rack_code>/withdraw", racks.rack_withdraw, name="rack_withdraw"),
    path("places/racks/<str:rack_code>/turn", racks.rack_turn, name="rack_turn"),
    path("places/racks/<str:rack_code>/move", racks.rack_move, name="rack_move"),
    path("places/racks/<str:rack_code>/empty", racks.rack_empty, name="rack_empty"),
]
