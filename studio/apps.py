from django.apps import AppConfig


class StudioConfig(AppConfig):
    name = "studio"
    label = "studio"
    verbose_name = "People and bodies"

    def ready(self) -> None:
        from studio import jobs  # noqa: F401 - registers job kinds, panels and erasure
