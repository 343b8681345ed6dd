from typing import Any

from django.apps import AppConfig
from django.core.signals import got_request_exception


class UpkeepConfig(AppConfig):
    name = "fraginv.upkeep"

    def ready(self) -> None:
        """Hear of every page that breaks."""
        got_request_exception.connect(report_broken_page, dispatch_uid="fraginv.upkeep")


def report_broken_page(sender: Any, request: Any = None, **rest: Any) -> None:
    """Tell the owner of a page that broke through a fault of ours."""
    import sys

    from fraginv.base.views import trouble_of
    from fraginv.upkeep.actions.alarms import alarm

    error = sys.exc_info()[1]
    if error is None or trouble_of(error) is not None:
        return
    match = getattr(request, "resolver_match", None)
    place = match.view_name if match else "no page"
    asked = getattr(request, "META", {}).get("fraginv.request", "")
    alarm(type(error).__qualname__, place=place, request_id=asked)
