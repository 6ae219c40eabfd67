from django.apps import AppConfig


class ConfigConfig(AppConfig):
    name = "studio.config"
    label = "config"
    verbose_name = "Configuration and commands"

    def ready(self) -> None:
        from studio.config import celery  # noqa: F401 - the queue that the platform rings
