"""The web process's entry: ``gunicorn studio.config.wsgi``."""

import os

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.config.settings")
os.environ.setdefault("STUDIO_PROCESS", "web")

from django.core.wsgi import get_wsgi_application  # noqa: E402 - the process's kind must be known first

application = get_wsgi_application()
