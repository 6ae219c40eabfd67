"""The interactive description of the API, within the house's strict content security policy."""

from csp.decorators import csp_update
from django.utils.decorators import method_decorator
from drf_spectacular.views import SpectacularRedocView, SpectacularSwaggerSplitView

# The description's own bundle sets element styles from script; nothing else of the policy is loosened, and no page
# of the house shares it.
_LOOSER = csp_update({"style-src": ["'unsafe-inline'"], "img-src": ["data:"], "worker-src": ["blob:"]})


@method_decorator(_LOOSER, name="dispatch")
class InteractiveDocs(SpectacularSwaggerSplitView):
    """Swagger UI from the sidecar, its start script served from our own address."""


__all__ = ["InteractiveDocs", "SpectacularRedocView"]
