from seamlab.web.cloth_routes import urlpatterns as cloth_patterns
from seamlab.web.seam_routes import urlpatterns as seam_patterns
from seamlab.web.sheet_routes import urlpatterns as sheet_patterns
from seamlab.web.transfer_routes import urlpatterns as transfer_patterns

app_name = "seamlab"
urlpatterns = [
    *cloth_patterns,
    *sheet_patterns,
    *transfer_patterns,
    *seam_patterns,
]
