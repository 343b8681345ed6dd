"""The headers that every answer carries, whatever it is: page, picture, static file or error.

The Content Security Policy stands in the settings and is sent by django-csp;
FRAGINV_HTTPS adds Strict-Transport-Security by Django's own middleware.
"""

from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from fraginv.base.middleware import Watch

# What any page may ask of the device: writing to the clipboard, for copying a link. Everything
# else that Chromium knows by name is off, so that a script that came in by a mistake of ours
# could not ask for it either. A page that reads labels by the camera says so for itself; a
# photo that is filed comes from the phone's own camera program, which needs no leave of ours.
ALLOWED: Final = ("clipboard-write",)
REFUSED: Final = (
    "accelerometer",
    "autoplay",
    "browsing-topics",
    "camera",
    "clipboard-read",
    "display-capture",
    "encrypted-media",
    "fullscreen",
    "gamepad",
    "geolocation",
    "gyroscope",
    "hid",
    "identity-credentials-get",
    "idle-detection",
    "local-fonts",
    "magnetometer",
    "microphone",
    "midi",
    "otp-credentials",
    "payment",
    "picture-in-picture",
    "publickey-credentials-create",
    "publickey-credentials-get",
    "screen-wake-lock",
    "serial",
    "storage-access",
    "usb",
    "xr-spatial-tracking",
)


def permissions(*more: str) -> str:
    """Return the Permissions-Policy of a page that may ask for more than every page may."""
    allowed = [*ALLOWED, *more]
    refused = [name for name in REFUSED if name not in more]
    return ", ".join([f"{name}=(self)" for name in allowed] + [f"{name}=()" for name in refused])


FIXED: Final = {
    "Permissions-Policy": permissions(),
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "X-Permitted-Cross-Domain-Policies": "none",
}
# Whoever was signed in leaves nothing behind on a shared phone: not on its disk, and
# not in the memory that the back button shows.
KEEP_NOTHING: Final = "private, no-store"
# A visitor's page may stand in the back button's memory; its prices are asked for anew.
ASK_AGAIN: Final = "private, no-cache"


class HeadersMiddleware(Watch):
    """Give every answer its headers; the first of all middleware, so that none is left out.

    A view that says something else for its own answer is believed.
    """

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        for name, value in FIXED.items():
            response.setdefault(name, value)
        known = has_visit(request, response)
        response.setdefault("Cache-Control", KEEP_NOTHING if known else ASK_AGAIN)
        return response


def has_visit(request: HttpRequest, response: HttpResponse) -> bool:
    """Tell whether a session came with the request or goes out with the answer.

    The cookie alone is asked: whether it still counts would take a statement, and a
    page for somebody whose visit has just ended is no less private.
    """
    name = settings.SESSION_COOKIE_NAME
    return name in request.COOKIES or name in response.cookies
