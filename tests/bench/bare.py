"""The floor of pages: a view that answers a few words of JSON, under the project's middleware.

The pages themselves are mounted beside it, so that one server answers both.
"""

from importlib import import_module
from typing import cast

from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.http import HttpRequest, JsonResponse
from django.urls import include, path

from fraginv.front.access import ACCESS, PUBLIC, Need

settings.ROOT_URLCONF = __name__
cast(dict[str, dict[str, Need]], ACCESS)["bare"] = {"GET": PUBLIC}


def bare(request: HttpRequest) -> JsonResponse:
    """Answer without asking anybody anything."""
    return JsonResponse({"code": "7K3Q9F2", "pieces": 1})


# This sets Django up, without which the project's pages cannot be read.
application = get_wsgi_application()
# One caller stands for a crowd: what it asks for is counted, and never too much.
setattr(import_module("fraginv.base.throttle"), "ALLOWANCE", 10**9)  # noqa: B010 a constant
urlpatterns = [path("bare", bare, name="bare"), path("", include("fraginv.urls"))]
