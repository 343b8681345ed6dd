"""Addresses of the package ``people``: the door at the root, the crew below ``people/``."""

from django.urls import include, path

from fraginv.people.views import (
    accepting,
    changing,
    crew,
    factors,
    links,
    me,
    pins,
    second,
    signing,
)

app_name = "people"

crew_patterns = [
    path("", crew.people_list, name="list"),
    path("invite", links.invite_person, name="invite"),
    path("invitations/<int:invitation_id>/renew", links.invite_anew, name="renew"),
    path("invitations/<int:invitation_id>/withdraw", links.withdraw_link, name="withdraw"),
    path("<int:person_id>", crew.person, name="person"),
    path("<int:person_id>/reset", links.reset_person, name="reset"),
    path("<int:person_id>/out", crew.put_out, name="put_out"),
    path("<int:person_id>/in", crew.let_in, name="let_in"),
    path("<int:person_id>/visits/end", crew.end_visits, name="end_visits"),
    path("<int:person_id>/second-step/off", crew.factor_off, name="take_factor"),
]

urlpatterns = [
    path("sign-in", signing.sign_in, name="sign_in"),
    path("sign-in/code", second.second, name="second"),
    path("sign-out", signing.sign_out, name="sign_out"),
    path("change", changing.change, name="change"),
    path("change/<int:person_id>", changing.take, name="take"),
    path("change/<int:person_id>/forget", changing.forget, name="forget"),
    path("join/<str:token>", accepting.accept_link, name="accept"),
    path("me", me.me, name="me"),
    path("me/password", me.password, name="password"),
    path("me/leave", me.leave, name="leave"),
    path("me/pin", pins.pin, name="pin"),
    path("me/pin/off", pins.pin_off, name="pin_off"),
    path("me/second-step", factors.factor, name="factor"),
    path("me/second-step/key", factors.factor_key, name="factor_key"),
    path("me/second-step/codes", factors.factor_codes, name="factor_codes"),
    path("me/second-step/off", factors.factor_off, name="factor_off"),
    path("me/second-step/later", factors.factor_later, name="factor_later"),
    path("people/", include(crew_patterns)),
]
