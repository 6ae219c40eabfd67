"""The web process's entry: ``gunicorn studio.config.wsgi``."""

import os

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.config.settings")
os.environ.setdefault("STUDIO_PROCESS", "web")

from django.core.wsgi import get_wsgi_application

application = get_wsgi_application()
