"""The WSGI entry point."""

import gc
import os
from importlib import import_module

from django.conf import settings
from django.core.wsgi import get_wsgi_application

from coop.api.charsets import readable

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.settings")

application = readable(get_wsgi_application())

# Everything is loaded before the first request, and the collector of garbage, which else walks
# through all of it again and again while rows are read, passes over what stays for good.
import_module(settings.ROOT_URLCONF)
gc.collect()
gc.freeze()
