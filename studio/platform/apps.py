from django.apps import AppConfig


class PlatformConfig(AppConfig):
    name = "studio.platform"
    label = "platform"
    verbose_name = "What any wing may lean on"

    def ready(self) -> None:
        from studio.platform import (
            checks,  # noqa: F401 - registers the system checks
            tracing,
        )

        tracing.start()

        from studio.platform.services import letters

        letters.register()
