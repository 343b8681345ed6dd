"""What the application server is told; it reads this module by itself."""

import signal
from typing import Any

from django.conf import settings

wsgi_app = "fraginv.wsgi:application"
worker_class = "gthread"
workers = settings.ENVIRONMENT.processes
threads = settings.ENVIRONMENT.threads
preload_app = False
timeout = 120
graceful_timeout = 20
keepalive = 5
loglevel = "warning"
logconfig_dict = settings.LOGGING
control_socket_disable = True
# A Unix socket may be opened by whoever may enter its folder, as a port by whoever is here.
umask = 0o111
# ProxyMiddleware alone decides whose word is believed.
forwarded_allow_ips = ""
secure_scheme_headers: dict[str, str] = {}
forwarder_headers = ""


def when_ready(server: Any) -> None:
    """Leave Ctrl-C, which a terminal sends to everybody, to the process that watches over this."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def post_worker_init(worker: Any) -> None:
    """Leave Ctrl-C to that process here too."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
