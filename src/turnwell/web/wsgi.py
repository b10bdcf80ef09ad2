"""The WSGI application."""

import os

from django.core.wsgi import get_wsgi_application

__all__ = ["application"]

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "turnwell.web.settings")
application = get_wsgi_application()
